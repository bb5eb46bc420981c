/*
 * lanes.js - lanes of states on the view's stretch of time: a link of the chain, an ECU.
 * Each state has a pattern and a word beside its colour. The tables of the page say the
 * same in text.
 */
Drawbar.Lanes = ((D) => {
    'use strict';
    const WIDE = 700; /* px from which names stand beside lanes rather than above */
    const BAR = 20;
    const NAME = 17;

    return class Lanes {
        /* lanes: [{name, pieces: [{from, to, kind, word}], marks: [{at, kind, word}]}] */
        constructor(view, title, lanes) {
            this.view = view;
            this.lanes = lanes;
            this.canvas = D.make('canvas', { role: 'img',
                'aria-label': `${title}: ${lanes.length} lanes over time; the tables below say the same` });
            this.element = D.make('div', { className: 'row lanes' }, D.make('h3', {}, title),
                D.make('div', { className: 'stack' }, this.canvas));
        }

        start(left) {
            this.renew(left);
        }

        renew(left) {
            this.left = left;
            this.full = this.element.clientWidth;
            this.wide = this.full >= WIDE;
            this.pitch = this.wide ? BAR + 6 : BAR + NAME + 6;
            this.update();
        }

        update() {
            const height = this.lanes.length * this.pitch + 4;
            const context = D.sharpen(this.canvas, this.full, height);
            const right = this.full - 12;
            const span = this.view.to - this.view.from;
            const x = (t) => this.left + (t - this.view.from) / span * (right - this.left);
            this.hatch = this.hatch && this.scheme === D.colour('fault') ? this.hatch : hatched(context);
            this.scheme = D.colour('fault');
            D.drawBand(context, this.view, x, 0, height, this.left, right);
            context.textBaseline = 'middle';
            this.lanes.forEach((lane, i) => this.drawLane(context, lane, i * this.pitch + 2, x, right));
            D.drawLines(context, this.view, x, height);
        }

        drawOver() {
            this.update();
        }

        drawLane(context, lane, y, x, right) {
            const bar = this.wide ? y + 3 : y + NAME;
            context.fillStyle = D.colour('ink');
            context.font = D.font(13);
            context.textAlign = this.wide ? 'right' : 'left';
            const room = this.wide ? this.left - 14 : right - this.left;
            context.fillText(D.fitted(context, lane.name, room), this.wide ? this.left - 10 : this.left,
                this.wide ? bar + BAR / 2 : y + NAME / 2);
            context.save();
            context.beginPath();
            context.rect(this.left, y, right - this.left, this.pitch);
            context.clip();
            lane.pieces.forEach((piece) => {
                if (piece.to >= this.view.from && piece.from <= this.view.to) {
                    this.drawPiece(context, piece, bar, Math.max(x(piece.from), this.left - 4),
                        Math.min(x(piece.to), right + 4));
                }
            });
            lane.marks.forEach((mark) => drawMark(context, mark, x(mark.at), bar));
            context.restore();
        }

        drawPiece(context, piece, y, from, to) {
            const width = Math.max(to - from, 2);
            const thin = piece.kind === 'present';
            const top = thin ? y + 5 : y + 1;
            const height = thin ? BAR - 10 : BAR - 2;
            context.fillStyle = { held: D.colour('held-ground'), present: D.colour('held'),
                failed: this.hatch, silent: this.hatch, unknown: 'transparent' }[piece.kind];
            context.strokeStyle = D.colour({ held: 'held', present: 'held', failed: 'fault',
                silent: 'fault', unknown: 'soft' }[piece.kind]);
            context.lineWidth = 1;
            context.setLineDash({ unknown: [3, 4], silent: [6, 3] }[piece.kind] || []);
            context.fillRect(from, top, width, height);
            context.strokeRect(from + 0.5, top + 0.5, Math.max(width - 1, 1), height - 1);
            context.setLineDash([]);
            this.drawWord(context, piece, y, from, width);
        }

        drawWord(context, piece, y, from, width) {
            if (piece.kind === 'present') {
                return;
            }
            context.font = D.font(12, piece.kind === 'held' ? 400 : 700);
            const words = [piece.word, piece.short].filter((w) => w);
            const word = words.find((w) => context.measureText(w).width <= width - 10);
            if (!word) {
                return;
            }
            context.textAlign = 'left';
            context.lineJoin = 'round';
            context.lineWidth = 5;
            context.strokeStyle = D.colour(piece.kind === 'held' ? 'held-ground' : 'card');
            context.strokeText(word, from + 5, y + BAR / 2 + 0.5);
            context.fillStyle = D.colour('ink');
            context.fillText(word, from + 5, y + BAR / 2 + 0.5);
        }

        /* What stands at a point of the canvas, in words; '' where nothing does. */
        describe(clientX, clientY, t) {
            const box = this.canvas.getBoundingClientRect();
            const lane = this.lanes[Math.floor((clientY - box.top - 2) / this.pitch)];
            if (!lane || clientY < box.top) {
                return '';
            }
            const reach = (this.view.to - this.view.from) / this.full * 8;
            const mark = lane.marks.find((m) => Math.abs(m.at - t) <= reach);
            const piece = lane.pieces.find((p) => t >= p.from && t <= p.to);
            const words = [mark && `${mark.word} at ${this.view.times.both(mark.at)}`,
                piece && `${piece.word} from ${this.view.times.both(piece.from)} to ${this.view.times.both(piece.to)}`];
            return `${lane.name}: ${words.filter((w) => w).join('; ') || 'nothing told'}`;
        }
    };

    function hatched(context) {
        const tile = document.createElement('canvas');
        tile.width = tile.height = 8;
        const c = tile.getContext('2d');
        c.fillStyle = D.colour('card');
        c.fillRect(0, 0, 8, 8);
        c.strokeStyle = D.colour('fault');
        c.lineWidth = 2.6;
        c.beginPath();
        [-8, 0, 8].forEach((at) => { c.moveTo(at - 2, 10); c.lineTo(at + 10, -2); });
        c.stroke();
        return context.createPattern(tile, 'repeat');
    }

    /* Starts again: a standing arrow. Claim: a small tick. Contested: a rhombus. */
    function drawMark(context, mark, x, y) {
        context.fillStyle = D.colour('card');
        context.strokeStyle = D.colour('ink');
        context.lineWidth = 1.5;
        context.beginPath();
        if (mark.kind === 'claim') {
            context.moveTo(x, y + 1);
            context.lineTo(x, y + BAR - 1);
        } else if (mark.kind === 'restart') {
            context.moveTo(x, y);
            context.lineTo(x + 6, y + 11);
            context.lineTo(x - 6, y + 11);
            context.closePath();
            context.moveTo(x, y + 11);
            context.lineTo(x, y + BAR);
        } else {
            context.moveTo(x, y);
            context.lineTo(x + 8, y + BAR / 2);
            context.lineTo(x, y + BAR);
            context.lineTo(x - 8, y + BAR / 2);
            context.closePath();
        }
        context.fill();
        context.stroke();
    }
})(Drawbar);
