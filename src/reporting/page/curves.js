/*
 * curves.js - the series of the page as curves that give their points for any stretch of
 * time, at the width of the screen: from the overview where that is fine enough, else
 * from the detail, which is unpacked when it is first needed.
 */
Drawbar.curves = (() => {
    'use strict';
    const VALUE = 3;
    const KIND = { speed: 'speed', rate_setpoint: 'rate', rate_actual: 'rate', load: 'load', errors: 'errors' };

    class Curve {
        constructor(item, label) {
            this.item = item;
            this.label = label;
            this.kind = KIND[item.quantity] === 'rate' && !item.by_mass ? 'other' : KIND[item.quantity];
            this.hold = item.hold_s;
            this.max = item.max;
            this.shown = true;
            this.unpacked = {};
        }

        level(name) {
            if (!this.unpacked[name]) {
                this.unpacked[name] = drawbarSeries.unpack(this.item, this.item[name]);
            }
            return this.unpacked[name];
        }

        /* The coarsest level whose buckets are no wider than `width` seconds. */
        fitting(width) {
            const overview = this.item.overview;
            return this.level(overview && overview.width_s <= width ? 'overview' : 'detail');
        }

        /* Lowest, mean and highest of the values between two times; null where there is none. */
        between(level, from, to) {
            if (to <= 0) {
                return null;
            }
            const first = Math.max(0, Math.floor(from / level.width + 1e-6));
            const last = Math.min(level.count, Math.max(first + 1, Math.round(to / level.width)));
            let low = Infinity, high = -Infinity, sum = 0, count = 0;
            for (let k = first; k < last; k++) {
                if (level.state[k] === VALUE) {
                    low = Math.min(low, level.min[k]);
                    high = Math.max(high, level.max[k]);
                    sum += level.mean[k];
                    count++;
                }
            }
            return count > 0 ? [low, sum / count, high] : null;
        }

        /* Whether a line may run over the quiet time between two: nothing said "no value". */
        quiet(level, from, to) {
            const first = Math.max(0, Math.floor(from / level.width));
            const last = Math.min(level.count, Math.ceil(to / level.width));
            for (let k = first; k < last; k++) {
                if (level.state[k] === 1 || level.state[k] === 2) {
                    return false;
                }
            }
            return true;
        }

        /* The value that held at a time, in words for the legend; NaN where none did. */
        at(t, width) {
            const level = this.fitting(width);
            const k = Math.floor(t / level.width);
            const reach = Math.ceil(this.hold / level.width) + 1;
            for (let back = 0; back <= reach && k - back >= 0 && k >= 0; back++) {
                if (level.state[k - back] === VALUE) {
                    return level.mean[k - back];
                }
                if (level.state[k - back] === 1 || level.state[k - back] === 2) {
                    return NaN;
                }
            }
            return NaN;
        }
    }

    /*
     * Rows for the charting library over [from, to]: [t, [low, mean, high], ...], null where
     * a curve only has no point, NaN where its line must break.
     */
    function rows(curves, from, to, columns, factor) {
        const width = (to - from) / columns;
        const levels = curves.map((c) => c.fitting(width));
        const step = Math.max(width, Math.min(...levels.map((l) => l.width)));
        const first = Math.floor(from / step) - 1;
        const last = Math.ceil(to / step) + 1;
        const valued = curves.map(() => -Infinity);
        const list = [];
        for (let i = first; i <= last; i++) {
            const start = i * step;
            const row = [start + step / 2];
            curves.forEach((curve, c) => {
                const span = curve.between(levels[c], start, start + step);
                const broken = start - valued[c] > curve.hold + 1.5 * step ||
                    !curve.quiet(levels[c], Math.max(valued[c], start - step), start);
                if (span) {
                    if (broken && list.length > 0 && list[list.length - 1][c + 1] === null) {
                        list[list.length - 1][c + 1] = [NaN, NaN, NaN];
                    }
                    row.push(span.map((v) => v * factor));
                    valued[c] = start + step;
                } else {
                    row.push(broken ? [NaN, NaN, NaN] : null);
                }
            });
            list.push(row);
        }
        return list;
    }

    return { Curve, rows };
})();
