/*
 * overview.js - the whole recording in a strip that stays in sight, with the stretch that
 * is shown in it, and the scale of time under it. Drag the stretch, its ends, or press
 * beside it. The keys of the rows do the same, so it is left out of the tab order.
 */
Drawbar.Overview = ((D) => {
    'use strict';
    const HEIGHT = 44;
    const SCALE = 34;
    const GRIP = 22; /* px to either side of an end */

    return class Overview {
        constructor(view, end, curves, findings) {
            this.view = view;
            this.end = end; /* of the recording */
            this.curves = curves;
            this.findings = findings.filter((f) => f.start !== null);
            this.strip = D.make('canvas', { className: 'strip', 'aria-hidden': 'true' });
            this.scale = D.make('canvas', { className: 'scale', 'aria-hidden': 'true' });
            this.element = D.make('div', { className: 'overview' }, this.strip, this.scale);
            this.listen();
        }

        start(left) {
            this.renew(left);
        }

        renew(left) {
            this.left = left;
            this.full = this.element.clientWidth;
            this.right = this.full - 12;
            this.whole = this.drawWhole();
            this.update();
        }

        x(t) {
            return this.left + (t - this.view.begin) / this.view.whole_s * (this.right - this.left);
        }

        /* What never changes while the window moves: speeds from lowest to highest, findings. */
        drawWhole() {
            const canvas = document.createElement('canvas');
            const context = D.sharpen(canvas, this.full, HEIGHT);
            const columns = Math.max(1, Math.floor((this.right - this.left) / 2));
            const top = Math.max(...this.curves.map((c) => c.max || 0), 1e-9);
            context.strokeStyle = D.colour('soft');
            context.lineWidth = 1.5;
            this.curves.forEach((curve) => {
                const width = this.view.whole_s / columns;
                const level = curve.fitting(width);
                context.beginPath();
                for (let i = 0; i < columns; i++) {
                    const from = this.view.begin + i * width;
                    const span = curve.between(level, from, from + width);
                    if (span) {
                        const x = this.left + (i + 0.5) * 2;
                        context.moveTo(x, HEIGHT - 6 - span[0] / top * (HEIGHT - 18));
                        context.lineTo(x, HEIGHT - 7 - span[2] / top * (HEIGHT - 18));
                    }
                }
                context.stroke();
            });
            this.findings.forEach((f) => {
                const from = this.x(f.start);
                const to = this.x(f.end === null ? this.end : f.end);
                context.fillStyle = D.colour({ fault: 'fault', warning: 'warning', note: 'soft' }[f.severity]);
                context.fillRect(from, { fault: 0, warning: 4, note: 8 }[f.severity], Math.max(to - from, 2), 3);
            });
            return canvas;
        }

        update() {
            const context = D.sharpen(this.strip, this.full, HEIGHT);
            const from = this.x(this.view.from);
            const to = this.x(this.view.to);
            context.drawImage(this.whole, 0, 0, this.full, HEIGHT);
            context.fillStyle = D.colour('rule');
            context.globalAlpha = 0.55;
            context.fillRect(this.left, 0, from - this.left, HEIGHT);
            context.fillRect(to, 0, this.right - to, HEIGHT);
            context.globalAlpha = 1;
            context.strokeStyle = D.colour('ink');
            context.lineWidth = 2;
            context.strokeRect(from, 1, Math.max(to - from, 2), HEIGHT - 2);
            context.fillStyle = D.colour('ink');
            context.fillRect(from - 3, HEIGHT / 2 - 9, 6, 18);
            context.fillRect(to - 3, HEIGHT / 2 - 9, 6, 18);
            this.drawScale();
        }

        drawOver() {
            this.drawScale();
        }

        drawScale() {
            const context = D.sharpen(this.scale, this.full, SCALE);
            const width = this.right - this.left;
            const { step, list } = this.view.times.ticks(this.view.from, this.view.to, width, 90);
            const x = (t) => this.left + (t - this.view.from) / (this.view.to - this.view.from) * width;
            context.textAlign = 'center';
            context.textBaseline = 'alphabetic';
            list.forEach((t) => {
                const at = D.clamp(x(t), 30, this.full - 34);
                context.fillStyle = D.colour('ink');
                context.font = D.font(12, 600);
                context.fillText(this.view.times.seconds(t, step), at, 14);
                context.fillStyle = D.colour('soft');
                context.font = D.font(11);
                context.fillText(this.view.times.clock(t), at, 28);
                context.fillRect(x(t), SCALE - 4, 1, 4);
            });
        }

        listen() {
            let drag = null;
            const timeOf = (event) => {
                const box = this.strip.getBoundingClientRect();
                return (event.clientX - box.left - this.left) / (this.right - this.left) *
                    this.view.whole_s + this.view.begin;
            };
            this.strip.addEventListener('pointerdown', (event) => {
                const t = timeOf(event);
                const grip = GRIP / (this.right - this.left) * this.view.whole_s;
                const { from, to } = this.view;
                this.strip.setPointerCapture(event.pointerId);
                if (Math.abs(t - from) < grip && Math.abs(t - from) <= Math.abs(t - to)) {
                    drag = { end: 'from', t };
                } else if (Math.abs(t - to) < grip) {
                    drag = { end: 'to', t };
                } else {
                    drag = { end: 'both', t };
                    if (t < from || t > to) {
                        this.view.pan(t - (from + to) / 2);
                    }
                }
            });
            this.strip.addEventListener('pointermove', (event) => {
                if (!drag) {
                    return;
                }
                const t = timeOf(event);
                if (drag.end === 'both') {
                    this.view.pan(t - drag.t);
                    drag.t = t;
                } else if (drag.end === 'from') {
                    this.view.set(D.clamp(t, this.view.begin, this.view.to), this.view.to);
                } else {
                    this.view.set(this.view.from, D.clamp(t, this.view.from, this.view.end));
                }
            });
            ['pointerup', 'pointercancel'].forEach((name) =>
                this.strip.addEventListener(name, () => { drag = null; }));
        }
    };
})(Drawbar);
