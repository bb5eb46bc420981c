/* times.js - seconds from the start, the recorder's clock beside them, and ticks for both. */
Drawbar.timesOf = (() => {
    'use strict';
    const STEPS = [0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120,
        300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400];

    const decimalsOf = (step) => step >= 1 ? 0 : step >= 0.1 ? 1 : step >= 0.01 ? 2 : 3;

    const seconds = (t, step) => `${t.toFixed(decimalsOf(step === undefined ? 0.1 : step))} s`;

    /* Round times between two, so far apart that a label of `room` pixels fits each. */
    function ticks(from, to, width, room) {
        const least = (to - from) / Math.max(width / room, 1);
        let step = STEPS.find((s) => s >= least) || 86400;
        while (step < least) {
            step *= 2;
        }
        const list = [];
        for (let i = Math.ceil(from / step - 1e-9); i * step <= to + step * 1e-9; i++) {
            list.push(i * step);
        }
        return { step, list };
    }

    /* Of one recording, whose clock may be unknown. */
    return (recording) => {
        const start = recording.time_base === 'epoch' ? recording.start : null; /* s since 1970, UTC */
        const days = start !== null && Math.floor(start / 86400) !==
            Math.floor((start + recording.duration_s) / 86400);

        function clock(t) {
            if (start === null) {
                return '';
            }
            const text = new Date((start + t) * 1000).toISOString();
            return days ? `${text.slice(5, 10)} ${text.slice(11, 19)}` : text.slice(11, 19);
        }

        const both = (t, step) => clock(t) ? `${seconds(t, step)} (${clock(t)})` : seconds(t, step);

        return { seconds, clock, both, ticks };
    };
})();
