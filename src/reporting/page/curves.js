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
        /* closeups: [{start, end, points: [[t, value], ...]}], NaN for no value */
        constructor(item, label, closeups) {
            this.item = item;
            this.closeups = closeups;
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

    /* "100 3312 100 x ", packed: milliseconds since the one before, thousandths of the unit since the
     * last value. */
    function points(packed) {
        const numbers = drawbarSeries.text(packed).trim().split(' ');
        const list = [];
        let ms = 0, value = 0;
        for (let i = 0; i + 1 < numbers.length; i += 2) {
            ms += Number(numbers[i]);
            value += numbers[i + 1] === 'x' ? 0 : Number(numbers[i + 1]);
            list.push([ms / 1000, numbers[i + 1] === 'x' ? NaN : value / 1000]);
        }
        return list;
    }

    /*
     * The same rows, but where buckets are wider than a column and a close-up of a curve
     * covers the middle, its values as they came, each with its own time.
     */
    function finestRows(curves, from, to, columns, factor) {
        const list = rows(curves, from, to, columns, factor);
        const middle = (from + to) / 2;
        const near = curves.map((c) => c.closeups.find((u) => middle >= u.start && middle <= u.end));
        const widest = Math.min(...curves.map((c) => c.item.detail.width_s));
        if ((to - from) / columns >= widest || !near.some((u) => u)) {
            return list;
        }
        near.forEach((u, c) => list.forEach((row) => {
            if (u && row[0] >= u.start && row[0] <= u.end) {
                row[c + 1] = null;
            }
        }));
        near.forEach((u, c) => (u ? u.points : []).forEach(([t, value]) => {
            const row = [t, ...curves.map(() => null)];
            row[c + 1] = [value * factor, value * factor, value * factor];
            list.push(row);
        }));
        return list.sort((a, b) => a[0] - b[0]);
    }

    return { Curve, rows: finestRows, points };
})();
