/*
 * marks.js - the findings on the time axis: a button each, over the time that it lasted.
 * What does not fit into the rows gathers in one button that shows how many they are.
 */
Drawbar.Marks = ((D) => {
    'use strict';
    const TARGET = 44; /* px; what a finger hits */
    const BAR_LEAST = 6;
    const measure = document.createElement('canvas').getContext('2d');
    const ROWS_WIDE = 6;
    const ROWS_NARROW = 4;
    const GLYPH = { fault: '■', warning: '▲', note: '○' };

    return class Marks {
        constructor(view, end, findings, choose) {
            this.view = view;
            this.choose = choose;
            this.items = findings.map((f, i) => ({
                index: i,
                from: f.start,
                to: f.end === null ? end : f.end,
                button: this.button(f, i),
                room: textWidth(`${GLYPH[f.severity]} ${i + 1} ${f.code}`),
            })).filter((item) => item.from !== null);
            this.more = D.make('button', { type: 'button', className: 'mark more' });
            this.more.addEventListener('click', () => this.showMore());
            this.strip = D.make('div', { className: 'marks', role: 'group', 'aria-label': 'Findings' });
            this.element = D.make('div', { className: 'row' }, D.make('h3', {}, 'Findings'), this.strip);
        }

        button(finding, index) {
            const words = finding.code.replace(/-/g, ' ');
            const when = finding.start === null ? '' : `, at ${this.view.times.both(finding.start)}`;
            const button = D.make('button', {
                type: 'button', className: `mark ${finding.severity}`, title: finding.title,
                'aria-label': `${index + 1} ${words}: ${finding.severity}, ${finding.title}${when}`,
            }, D.make('span', { className: 'mark-bar' }), D.make('span', { className: 'mark-text' },
                D.make('span', { 'aria-hidden': 'true' }, `${GLYPH[finding.severity]} `), `${index + 1} ${words}`));
            button.addEventListener('click', () => this.choose(index));
            return button;
        }

        start(left) {
            this.renew(left);
        }

        renew(left) {
            this.left = left;
            this.update();
        }

        /* Each into the first row where it does not cover another. */
        update() {
            const full = this.element.clientWidth;
            const right = full - 12;
            const span = this.view.to - this.view.from;
            const x = (t) => this.left + (t - this.view.from) / span * (right - this.left);
            const most = full < 700 ? ROWS_NARROW : ROWS_WIDE;
            const ends = [];
            const hidden = [];
            const shown = [];
            this.items.forEach((item) => {
                if (item.to < this.view.from || item.from > this.view.to) {
                    return;
                }
                const bar = [Math.max(x(item.from), this.left), Math.min(x(item.to), right)];
                bar[0] = Math.min(bar[0], right - BAR_LEAST);
                bar[1] = Math.max(bar[1], bar[0] + BAR_LEAST);
                const side = bar[1] - bar[0] >= item.room + 12 ? 'inside' :
                    bar[1] + item.room <= right ? 'right' : bar[0] >= item.room ? 'left' : 'inside';
                const from = side === 'left' ? bar[0] - item.room : bar[0];
                const width = Math.max((side === 'right' ? bar[1] + item.room : bar[1]) - from, TARGET);
                let row = 0;
                while (row < ends.length && ends[row].some(([a, b]) => from < b + 3 && from + width > a - 3)) {
                    row++;
                }
                if (row >= most) {
                    hidden.push(item);
                    return;
                }
                ends[row] = ends[row] || [];
                ends[row].push([from, from + width]);
                place(item.button, from, row, width);
                lay(item.button, side, bar[1] - bar[0]);
                shown.push(item.button);
            });
            this.hidden = hidden;
            if (hidden.length > 0) {
                this.more.textContent = `and ${hidden.length} more here`;
                place(this.more, this.left, ends.length, 160);
                shown.push(this.more);
            }
            this.show(shown);
            this.strip.style.height = `${Math.max(1, ends.length + (hidden.length > 0 ? 1 : 0)) * TARGET}px`;
            this.strip.classList.toggle('empty', shown.length === 0);
        }

        /* In the order of time for the keyboard; the one that has the focus is not taken out. */
        show(buttons) {
            const wanted = new Set(buttons);
            [...this.strip.children].forEach((child) => {
                if (!wanted.has(child)) {
                    child.remove();
                }
            });
            buttons.forEach((b) => {
                if (b.parentNode !== this.strip) {
                    this.strip.append(b);
                }
            });
        }

        showMore() {
            const from = Math.min(...this.hidden.map((i) => i.from));
            const to = Math.max(...this.hidden.map((i) => i.to));
            if (from > this.view.from || to < this.view.to) {
                this.view.set(from, to);
            } else {
                document.getElementById('findings').scrollIntoView();
            }
        }

        drawOver() {}

        press(index) {
            this.items.forEach((item) => item.button.classList.toggle('chosen', item.index === index));
        }
    };

    function textWidth(text) {
        measure.font = D.font(13.6, 700);
        return Math.ceil(measure.measureText(text).width) + 14;
    }

    /* Its words stand in the bar, or beside one that is too short for them. */
    function lay(button, side, width) {
        button.classList.toggle('inside', side === 'inside');
        button.classList.toggle('left', side === 'left');
        button.firstChild.style.width = `${width}px`;
    }

    function place(button, left, row, width) {
        button.style.left = `${left}px`;
        button.style.top = `${row * TARGET}px`;
        button.style.width = `${width}px`;
    }
})(Drawbar);
