/* page.js - starts what the page can do beyond being read. */
((D) => {
    'use strict';

    /* Paper shows also what is folded on the screen; message by message it would be a book. */
    function unfoldForPaper() {
        let folded = [];
        window.addEventListener('beforeprint', () => {
            folded = [...document.querySelectorAll('details:not([open])')];
            folded.forEach((d) => { d.open = true; });
        });
        window.addEventListener('afterprint', () => folded.forEach((d) => { d.open = false; }));
    }

    /* A link to a finding opens it, and what it is folded in. */
    function openTarget() {
        const target = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
        for (let e = target; e; e = e.parentElement) {
            if (e.tagName === 'DETAILS') {
                e.open = true;
            }
        }
    }

    function showButtons(timeline, prefix) {
        document.querySelectorAll('button.show').forEach((button) => {
            const [, of, number] = button.dataset.finding.match(/^(.*?)(\d+)$/);
            if (of !== prefix) {
                return;
            }
            button.hidden = false;
            button.addEventListener('click', () => {
                timeline.chosen.choose(Number(number) - 1);
                timeline.host.scrollIntoView();
            });
        });
    }

    /* One timeline in its place; null where the recording has no time to show. */
    function startTimeline(live) {
        const name = live.dataset.report;
        const prefix = name === 'report' ? '' : `${name}-`;
        const data = document.getElementById(`${name}-data`);
        const report = JSON.parse(data.textContent);
        const [begin, end, motion] = data.dataset.aligned.split(' ').map(Number);
        if (!(end > begin) || report.recording.time_base === 'none') {
            return null;
        }
        live.hidden = false;
        live.nextElementSibling.classList.add('paper');
        const view = new D.View(D.timesOf(report.recording), begin, end,
            motion === undefined ? null : motion);
        const timeline = new D.Timeline(report, view, live, prefix);
        timeline.start();
        showButtons(timeline, prefix);
        return timeline;
    }

    function start() {
        unfoldForPaper();
        window.addEventListener('hashchange', openTarget);
        openTarget();
        D.units.start();
        D.timelines = [...document.querySelectorAll('.live')].map(startTimeline);
        const [before, after] = D.timelines;
        if (before && after) {
            before.view.link(after.view, after.view.begin - before.view.begin);
        }
        performance.mark('drawbar-ready');
    }

    start();
})(Drawbar);
