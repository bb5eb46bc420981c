/* timeline.js - builds the rows of one recording over one view, and keeps them in step. */
Drawbar.Timeline = ((D) => {
    'use strict';
    const LINKS = ['on_bus', 'controller', 'speed', 'working', 'setpoint', 'metering', 'rate', 'coverage'];
    const LINK_WORDS = { on_bus: 'on the bus', setpoint: 'set-point' };
    const ANSWERS = { held: 'held', failed: '× not held', unknown: '? unknown' };
    const ECUS_MOST = 40;

    const until = (t, end) => t === null || t === undefined ? end : t;

    function chainLanes(chain, end) {
        return LINKS.map((link) => ({
            name: LINK_WORDS[link] || link,
            marks: [],
            pieces: chain.links.filter((l) => l.link === link).map((l) => ({
                from: l.start, to: until(l.end, end), kind: l.state, short: ANSWERS[l.state],
                word: l.state === 'held' ? 'held' : `${ANSWERS[l.state]}: ${l.evidence}`,
            })),
        }));
    }

    function ecuPieces(ecu, end) {
        const pieces = [];
        let from = ecu.first;
        ecu.silences.forEach((s) => {
            pieces.push({ from, to: s.start, kind: 'present', word: 'sends' });
            pieces.push({ from: s.start, to: until(s.end, end), kind: 'silent', word: 'silent' });
            from = until(s.end, end);
        });
        if (from < ecu.last) {
            pieces.push({ from, to: ecu.last, kind: 'present', word: 'sends' });
        }
        return pieces;
    }

    function ecuLane(ecu, end) {
        const marks = (times, kind, word) => (times || []).map((at) => ({ at, kind, word }));
        return {
            name: ecu.label,
            pieces: ecuPieces(ecu, end),
            marks: [...marks(ecu.claim_times, 'claim', 'claims its address'),
                ...marks(ecu.restart_times, 'restart', 'starts again'),
                ...marks(ecu.contest_times, 'contest', 'address contested')],
        };
    }

    function seriesLabel(report, item) {
        if (item.quantity === 'speed') {
            const source = report.speed_sources[item.of];
            return `${source.kind}, ${source.label}`;
        }
        if (item.quantity.startsWith('rate')) {
            const chain = report.chain[item.of];
            const ecu = report.ecus.find((e) => e.address === chain.implement && e.interface === chain.interface);
            return `${item.quantity === 'rate_actual' ? 'actual' : 'set-point'}, ${ecu ? ecu.label : chain.implement}`;
        }
        return report.buses[item.of].interface;
    }

    /* Around the moments of findings the values of a series as they came. */
    function closeupsOf(report, item) {
        const list = [];
        (report.closeups || []).forEach((closeup) => closeup.curves
            .filter((c) => c.quantity === item.quantity && c.of === item.of)
            .forEach((c) => list.push({ start: closeup.start, end: closeup.end, points: D.curves.points(c.points) })));
        return list;
    }

    return class Timeline {
        constructor(report, view, host, prefix) {
            const end = report.recording.duration_s;
            this.end = end;
            this.report = report;
            this.view = view;
            this.host = host;
            const items = (report.series ? report.series.items : []).filter((i) => i.max !== null);
            this.curves = items.slice(0, 64).map((item) =>
                new D.curves.Curve(item, seriesLabel(report, item), closeupsOf(report, item)));
            this.chosen = new D.Chosen(view, end, report.findings, prefix);
            this.marks = new D.Marks(view, end, report.findings, (i) => this.chosen.choose(i));
            this.chosen.pressed = (i) => this.marks.press(i);
            this.overview = new D.Overview(view, end, this.of(['speed']), report.findings);
            this.rows = this.build();
            this.assemble();
        }

        of(quantities) {
            return this.curves.filter((c) => quantities.includes(c.item.quantity)).slice(0, 8);
        }

        build() {
            const { report, view } = this;
            const rows = [];
            const chart = (title, quantities, height) => {
                const curves = this.of(quantities);
                if (curves.length > 0) {
                    rows.push(new D.Chart(view, title, curves, height));
                }
            };
            if (this.marks.items.length > 0) {
                rows.push(this.marks);
            }
            chart('Speed by each source', ['speed'], 200);
            chart('Rate, set-point and actual', ['rate_setpoint', 'rate_actual'], 130);
            report.chain.forEach((chain) => {
                const ecu = report.ecus.find((e) => e.address === chain.implement && e.interface === chain.interface);
                rows.push(new D.Lanes(view, `Chain of ${ecu ? ecu.label : `address ${chain.implement}`}`,
                    chainLanes(chain, this.end)));
            });
            if (report.ecus.length > 0) {
                rows.push(new D.Lanes(view, report.ecus.length > ECUS_MOST ?
                    `ECUs, the first ${ECUS_MOST} of ${report.ecus.length}` : 'ECUs',
                report.ecus.slice(0, ECUS_MOST).map((e) => ecuLane(e, this.end))));
            }
            chart('Bus load', ['load'], 110);
            chart('Error frames', ['errors'], 90);
            return rows;
        }

        assemble() {
            this.status = D.make('p', { className: 'status', role: 'status' });
            this.body = D.make('div', { className: 'rows', tabIndex: 0, role: 'group',
                'aria-label': 'Timeline: arrow keys move in time, plus and minus zoom, 0 shows the whole recording' },
            ...this.rows.map((r) => r.element));
            this.host.replaceChildren(this.tools(), this.overview.element, this.body, this.chosen.element);
        }

        tools() {
            const { view } = this;
            const middle = () => view.cursor === null ? (view.from + view.to) / 2 : view.cursor;
            const button = (words, label, act) => {
                const b = D.make('button', { type: 'button', 'aria-label': label, title: label }, words);
                b.addEventListener('click', act);
                return b;
            };
            return D.make('div', { className: 'tools' },
                button('+', 'Zoom in', () => view.zoom(0.5, middle())),
                button('−', 'Zoom out', () => view.zoom(2, middle())),
                button('◂', 'Earlier', () => view.pan((view.from - view.to) * 0.5)),
                button('▸', 'Later', () => view.pan((view.to - view.from) * 0.5)),
                button('Whole', 'Show the whole recording', () => view.whole()),
                this.status);
        }

        left() {
            const width = this.host.clientWidth;
            return width >= 700 ? Math.round(Math.min(230, width * 0.24)) : 44;
        }

        start() {
            const parts = [this.overview, ...this.rows];
            parts.forEach((p) => p.start(this.left()));
            this.view.watch((what) => {
                parts.forEach((p) => what === 'window' ? p.update() : p.drawOver());
                this.tell();
            });
            D.gestures.attach(this.body, this.view, () => {
                const left = this.body.getBoundingClientRect().left + this.left();
                return { left, width: this.body.clientWidth - this.left() - 12 };
            }, (event) => this.tapped(event));
            D.units.watch(() => this.renew());
            window.matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => {
                D.forgetColours();
                this.renew();
            });
            let width = this.host.clientWidth;
            new ResizeObserver(() => {
                if (this.host.clientWidth !== width && this.host.clientWidth > 0) {
                    width = this.host.clientWidth;
                    this.renew();
                }
            }).observe(this.host);
            this.tell();
        }

        renew() {
            [this.overview, ...this.rows].forEach((p) => p.renew(this.left()));
        }

        /* Which stretch is shown; what lies under a tap. */
        tell(words) {
            const { from, to } = this.view;
            const step = Math.min(0.1, (to - from) / 100);
            this.status.textContent = words || `${this.view.times.both(from, step)} to ${this.view.times.both(to, step)}`;
        }

        tapped(event) {
            const lanes = this.rows.find((r) => r instanceof D.Lanes && r.element.contains(event.target));
            if (lanes && this.view.cursor !== null) {
                const words = lanes.describe(event.clientX, event.clientY, this.view.cursor);
                requestAnimationFrame(() => requestAnimationFrame(() => this.tell(words)));
            }
        }
    };
})(Drawbar);
