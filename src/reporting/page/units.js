/* units.js - figures in the units of the reader; everything in the data is SI (units.c). */
Drawbar.units = (() => {
    'use strict';
    const LB_AC = 4046.8564224 / 0.45359237; /* kg/m2 to lb/ac, exact: acre and pound of 1959 */
    const KINDS = {
        speed: { metric: [3.6, 'km/h', 1], us: [3600 / 1609.344, 'mph', 1] },
        rate: { metric: [1e4, 'kg/ha', 1], us: [LB_AC, 'lb/ac', 1] },
        other: { metric: [1, 'unit not told', 2], us: [1, 'unit not told', 2] },
        load: { metric: [1, '%', 1], us: [1, '%', 1] },
        errors: { metric: [1, 'error frames', 0], us: [1, 'error frames', 0] },
    };
    const root = document.documentElement;
    const watchers = [];

    const current = () => root.dataset.units === 'us' ? 'us' : 'metric';
    const factor = (kind) => KINDS[kind][current()][0];
    const name = (kind) => KINDS[kind][current()][1];

    function figure(kind, si) {
        const [by, unit, decimals] = KINDS[kind][current()];
        return Number.isNaN(si) ? 'no value' : `${(si * by).toFixed(decimals)} ${unit}`;
    }

    function choose(units) {
        root.dataset.units = units;
        buttons().forEach((b) => b.setAttribute('aria-pressed', String(b.dataset.units === units)));
        watchers.forEach((draw) => draw());
    }

    const buttons = () => [...document.querySelectorAll('.units button')];

    function start() {
        document.querySelector('.units').hidden = false;
        buttons().forEach((b) => b.addEventListener('click', () => choose(b.dataset.units)));
        choose(current());
    }

    return { factor, name, figure, start, watch: (draw) => watchers.push(draw) };
})();
