/*
 * chosen.js - the finding that was tapped: the rows show its time, and a sheet at the
 * lower edge its evidence, taken from where the page tells it anyway.
 */
Drawbar.Chosen = ((D) => {
    'use strict';
    const NEAR_S = 10; /* around a start or an end, as far as the recording is kept in full */

    return class Chosen {
        /* `prefix` of the ids under which the page tells the findings. */
        constructor(view, end, findings, prefix) {
            this.view = view;
            this.end = end;
            this.prefix = prefix;
            this.findings = findings;
            this.index = null;
            this.body = D.make('div', { className: 'sheet-body', tabIndex: 0 });
            this.element = D.make('div', { className: 'sheet', role: 'region',
                'aria-label': 'Chosen finding', hidden: true });
        }

        span() {
            const f = this.findings[this.index];
            return [f.start, f.end === null ? this.end : f.end];
        }

        choose(index) {
            this.index = index;
            const [from, to] = this.span();
            const margin = Math.max((to - from) * 0.15, 1);
            this.view.choose([from, to]);
            this.show(from - margin, to + margin);
            this.fill();
            this.element.hidden = false;
            this.pressed(index);
        }

        close() {
            this.element.hidden = true;
            this.view.choose(null);
            this.pressed(null);
            this.index = null;
        }

        near(at) {
            this.show(at - NEAR_S / 2, at + NEAR_S / 2);
        }

        /* What lies beyond the recording is not asked for, so that nothing moves for it. */
        show(from, to) {
            this.view.set(Math.max(from, this.view.begin), Math.min(to, this.view.end));
        }

        fill() {
            const source = document.getElementById(`${this.prefix}f${this.index + 1}`);
            const copy = source.cloneNode(true);
            const head = copy.querySelector('h3, summary');
            const button = (words, act) => {
                const b = D.make('button', { type: 'button' }, words);
                b.addEventListener('click', act);
                return b;
            };
            copy.querySelectorAll('button, .todo, .because, h4, ol, ul:not(.evidence)').forEach((e) => e.remove());
            copy.querySelectorAll('[id]').forEach((e) => e.removeAttribute('id'));
            const title = D.make('h3', {}, ...head.childNodes);
            head.remove();
            const [from, to] = this.span();
            const whole = D.make('a', { href: `#${source.id}` }, 'What to check next, and what follows');
            this.body.replaceChildren(title, ...copy.childNodes, D.make('p', {}, whole));
            this.body.setAttribute('aria-label', 'Evidence');
            this.element.replaceChildren(
                D.make('div', { className: 'sheet-tools' },
                    button('All of it', () => this.choose(this.index)),
                    button('Start', () => this.near(from)), button('End', () => this.near(to)),
                    button('Next', () => this.step(1)), button('Close', () => this.close())),
                this.body);
            this.body.scrollTop = 0;
        }

        /* The next finding that has a time, round and round. */
        step(by) {
            const count = this.findings.length;
            for (let i = 1; i <= count; i++) {
                const index = (this.index + by * i + count * i) % count;
                if (this.findings[index].start !== null) {
                    this.choose(index);
                    return;
                }
            }
        }
    };
})(Drawbar);
