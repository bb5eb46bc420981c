/*
 * charts.js - a panel of curves: drawn by the charting library over the view's stretch of
 * time; letters, cursor and band lie on a canvas above it, so that moving the cursor
 * draws no curve again.
 */
Drawbar.Chart = ((D) => {
    'use strict';
    const DASHES = [[], [9, 4], [2, 3], [12, 3, 2, 3], [5, 2], [1, 2], [16, 4], [7, 2, 1, 2, 1, 2]];
    const LETTER = 'ABCDEFGH';
    const GAP_RIGHT = 12;
    const BELOW = 0.05;

    /* The library's legend writes style attributes, which the page's policy refuses. */
    Dygraph.PLUGINS = [Dygraph.Plugins.Axes, Dygraph.Plugins.Grid];

    return class Chart {
        constructor(view, title, curves, height) {
            this.view = view;
            this.curves = curves;
            this.height = height;
            this.kind = curves[0].kind;
            this.area = D.make('div', { className: 'plot' });
            this.over = D.make('canvas', { className: 'over' });
            this.unit = D.make('span', { className: 'unit' });
            this.legend = D.make('div', { className: 'legend' }, ...curves.map((c, i) => this.entry(c, i)));
            this.element = D.make('div', { className: 'row chart', role: 'group', 'aria-label': title },
                D.make('div', { className: 'row-head' }, D.make('h3', {}, title, ' ', this.unit), this.legend),
                D.make('div', { className: 'stack' }, this.area, this.over));
            this.area.style.height = `${height}px`;
        }

        entry(curve, i) {
            const swatch = D.make('canvas', { className: 'dash' });
            const value = D.make('span', { className: 'value' });
            const button = D.make('button', { type: 'button', className: 'entry', 'aria-pressed': 'true' },
                swatch, D.make('b', {}, LETTER[i]), ' ', D.make('span', {}, curve.label), ' ', value);
            curve.swatch = swatch;
            curve.value = value;
            button.addEventListener('click', () => {
                curve.shown = !curve.shown;
                button.setAttribute('aria-pressed', String(curve.shown));
                this.graph.setVisibility(i, curve.shown);
                this.drawOver();
            });
            return button;
        }

        /* The upper end of the scale: a round number above all values. */
        top() {
            const most = Math.max(...this.curves.map((c) => c.max || 0)) * D.units.factor(this.kind);
            const power = 10 ** Math.floor(Math.log10(most > 0 ? most : 1));
            const step = [1, 1.5, 2, 3, 4, 5, 6, 8, 10].find((s) => s * power >= most * 1.02) || 10;
            return step * power;
        }

        rows() {
            const columns = Math.max(60, Math.floor(this.width() / 1.5));
            return D.curves.rows(this.curves, this.view.from, this.view.to, columns,
                D.units.factor(this.kind));
        }

        width() {
            return Math.max(60, this.area.clientWidth - this.left - GAP_RIGHT);
        }

        options() {
            const ink = D.colour('ink');
            return {
                dateWindow: [this.view.from, this.view.to],
                valueRange: [-this.top() * BELOW, this.top()], /* a line at zero is seen whole */
                colors: this.curves.map((c, i) => D.colour(`c${i}`)),
                gridLineColor: D.colour('rule'),
                gridLineWidth: 0.4,
                axisLineColor: ink,
                underlayCallback: (context, area) => D.drawBand(context, this.view,
                    (t) => area.x + (t - this.view.from) / (this.view.to - this.view.from) * area.w,
                    area.y, area.h, area.x, area.x + area.w),
                axes: {
                    x: {
                        drawAxis: false,
                        ticker: (from, to) => this.view.times.ticks(from, to, this.width(), 90).list
                            .map((v) => ({ v, label: '' })),
                    },
                    y: { axisLabelWidth: this.left, axisTickSize: 0, pixelsPerLabel: 28 },
                },
            };
        }

        start(left) {
            this.left = left;
            const series = {};
            this.curves.forEach((c, i) => { series[LETTER[i]] = { strokePattern: DASHES[i].length ? DASHES[i] : null }; });
            this.graph = new Dygraph(this.area, this.rows(), Object.assign(this.options(), {
                labels: ['t', ...this.curves.map((c, i) => LETTER[i])],
                customBars: true, connectSeparatedPoints: true, strokeWidth: 2, fillAlpha: 0.22,
                drawGapEdgePoints: true, pointSize: 2, rightGap: GAP_RIGHT, series,
                interactionModel: {}, highlightCircleSize: 0, legend: 'never', axisLabelFontSize: 13,
            }));
            this.paint();
        }

        /* Another width, other colours or other units. */
        renew(left) {
            this.left = left;
            this.graph.resize();
            this.update();
            this.paint();
        }

        update() {
            this.graph.updateOptions(Object.assign(this.options(), { file: this.rows() }));
            this.drawOver();
        }

        paint() {
            this.unit.textContent = D.units.name(this.kind);
            this.curves.forEach((curve, i) => {
                const context = D.sharpen(curve.swatch, 34, 12);
                context.strokeStyle = D.colour(`c${i}`);
                context.lineWidth = 3;
                context.setLineDash(DASHES[i]);
                context.beginPath();
                context.moveTo(0, 6);
                context.lineTo(34, 6);
                context.stroke();
            });
            this.drawOver();
        }

        /* Letters spread over the width, each on its own curve; then band and cursor. */
        drawOver() {
            const context = D.sharpen(this.over, this.area.clientWidth, this.height);
            const width = this.width();
            const span = this.view.to - this.view.from;
            const x = (t) => this.left + (t - this.view.from) / span * width;
            D.drawLines(context, this.view, x, this.height);
            const top = this.top();
            const by = D.units.factor(this.kind);
            this.curves.forEach((curve, i) => {
                this.legendValue(curve, span / width);
                if (!curve.shown) {
                    return;
                }
                for (let tried = 0; tried < 24; tried++) {
                    const share = ((i + 0.5) / this.curves.length + tried / 24) % 1;
                    const value = curve.at(this.view.from + share * span, span / width);
                    if (!Number.isNaN(value)) {
                        badge(context, this.left + share * width, this.height * (1 - value * by / top) / (1 + BELOW),
                            LETTER[i], D.colour(`c${i}`), this.height);
                        return;
                    }
                }
            });
        }

        legendValue(curve, width) {
            const at = this.view.cursor;
            curve.value.textContent = at === null ? '' :
                D.units.figure(this.kind, curve.at(at, width));
        }
    };

    function badge(context, x, y, letter, colour, height) {
        const middle = D.clamp(y, 9, height - 9);
        context.beginPath();
        context.arc(x, middle, 8, 0, 2 * Math.PI);
        context.fillStyle = D.colour('card');
        context.strokeStyle = colour;
        context.lineWidth = 2;
        context.fill();
        context.stroke();
        context.fillStyle = D.colour('ink');
        context.font = D.font(11, 700);
        context.textAlign = 'center';
        context.textBaseline = 'middle';
        context.fillText(letter, x, middle + 0.5);
    }
})(Drawbar);

/* The chosen finding's stretch of time, under what a row draws. */
Drawbar.drawBand = ((D) => {
    'use strict';
    return (context, view, x, top, height, left, right) => {
        if (!view.band || view.band[1] < view.from || view.band[0] > view.to) {
            return;
        }
        const from = D.clamp(x(view.band[0]), left, right);
        const to = D.clamp(x(view.band[1]), left, right);
        context.fillStyle = D.colour('band');
        context.fillRect(from, top, Math.max(to - from, 2), height);
    };
})(Drawbar);

/* The line under the pointer, and the first motion where two are aligned, over a row. */
Drawbar.drawLines = ((D) => {
    'use strict';
    return (context, view, x, height) => {
        if (view.motion !== null && view.motion >= view.from && view.motion <= view.to) {
            context.strokeStyle = D.colour('soft');
            context.lineWidth = 2;
            context.setLineDash([2, 4]);
            line(context, x(view.motion), height);
            context.setLineDash([]);
        }
        if (view.cursor !== null && view.cursor >= view.from && view.cursor <= view.to) {
            context.strokeStyle = D.colour('ink');
            context.lineWidth = 1;
            line(context, x(view.cursor), height);
        }
    };

    function line(context, x, height) {
        context.beginPath();
        context.moveTo(Math.round(x) + 0.5, 0);
        context.lineTo(Math.round(x) + 0.5, height);
        context.stroke();
    }
})(Drawbar);
