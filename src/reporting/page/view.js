/*
 * view.js - the one stretch of time that all rows show. Who changes it calls set, zoom,
 * pan or point; who shows it registers with `watch` and is called once a picture.
 */
Drawbar.View = ((D) => {
    'use strict';
    const LEAST_S = 0.05; /* the closest look: a few messages of the fastest group */

    return class View {
        /* Shows times from `begin` to `end`, which may lie outside of the recording. */
        constructor(times, begin, end, motion) {
            this.times = times; /* of the recording, as times.js tells them */
            this.begin = begin;
            this.end = end;
            this.whole_s = end - begin;
            this.from = begin;
            this.to = end;
            this.motion = motion; /* s, marked where two recordings are aligned; or null */
            this.cursor = null;   /* s, under the pointer */
            this.band = null;     /* [from, to] of the chosen finding */
            this.watchers = [];
            this.due = null;
            this.partner = null;
        }

        /* Two views that move together: what is `shift` later in the other is the same here. */
        link(other, shift) {
            this.partner = { view: other, shift };
            other.partner = { view: this, shift: -shift };
        }

        watch(draw) {
            this.watchers.push(draw);
        }

        /* `what`: "window" or "cursor"; the window's change includes the cursor's. */
        changed(what) {
            if (this.due === null) {
                requestAnimationFrame(() => {
                    const due = this.due;
                    this.due = null;
                    this.watchers.forEach((draw) => draw(due));
                });
            }
            this.due = this.due === 'window' ? 'window' : what;
        }

        set(from, to) {
            const least = Math.min(LEAST_S, this.whole_s);
            const span = D.clamp(to - from, least, this.whole_s);
            const start = D.clamp((from + to - span) / 2, this.begin, this.end - span);
            if (Math.abs(start - this.from) < 1e-9 && Math.abs(start + span - this.to) < 1e-9) {
                return;
            }
            this.from = start;
            this.to = start + span;
            this.changed('window');
            if (this.partner) {
                this.partner.view.set(start + this.partner.shift, start + span + this.partner.shift);
            }
        }

        whole() {
            this.set(this.begin, this.end);
        }

        isWhole() {
            return this.to - this.from >= this.whole_s * (1 - 1e-9);
        }

        /* Keeps `at` where it is on the screen; factor below 1 shows less time. */
        zoom(factor, at) {
            const least = Math.min(LEAST_S, this.whole_s);
            const span = D.clamp((this.to - this.from) * factor, least, this.whole_s);
            const share = (at - this.from) / (this.to - this.from);
            this.move(at - share * span, span);
        }

        pan(by) {
            this.move(this.from + by, this.to - this.from);
        }

        move(from, span) {
            const start = D.clamp(from, this.begin, this.end - span);
            this.set(start, start + span);
        }

        point(at) {
            if (at !== this.cursor) {
                this.cursor = at;
                this.changed('cursor');
                if (this.partner) {
                    this.partner.view.point(at === null ? null : at + this.partner.shift);
                }
            }
        }

        choose(band) {
            this.band = band;
            this.changed('window');
        }
    };
})(Drawbar);
