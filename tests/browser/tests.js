/* tests.js - what a person does with a report page, and what must never happen in it. */
'use strict';
const fs = require('fs');
const path = require('path');
const { assert, test, page, written, open, settled, shot, view, main, build, results, samples,
    scratch, execFileSync } = require('./harness.js');
const axe = fs.readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

const HOSTILE = '<img src=x onerror=alert(1)></script><script>alert(2)</script>"\'&';

const dead = () => page('dead', 'check', 'axle-sensor-dead.log');
const flicker = () => page('flicker', 'check', 'booms-flicker.log.gz');
const compared = () => page('compared', 'compare', 'axle-sensor-dead.log', 'axle-sensor-repaired.log');
const untimed = () => page('untimed', 'check', written('untimed.log',
    'can0 18FEF100 [8] FF FF FF FF FF FF FF FF\ncan0 18FEF100 [8] FF FF FF FF FF FF FF FF\n'));
const single = () => page('single', 'check', written('single.log',
    '(1717000000.000000) can0 18FEF100#FFFFFFFFFFFFFFFF\n'));

function hostile() {
    const name = HOSTILE.replace(/\//g, '|').slice(0, 60);
    const port = '<script>alert(3)</script>'.replace(/\//g, '|');
    return page('hostile', 'check', written(`${name}.log`,
        [0, 1, 2, 3].map((i) => `(${1717000000 + i}.000000) ${port} 18FEF100#FFFFFFFFFFFFFFFF\n`).join('')));
}

const all = () => [dead(), flicker(), compared(), untimed(), single(), hostile(),
    page('conflict', 'check', 'address-conflict.log'),
    page('bus-off', 'check', 'recorder-bus-off.log'),
    page('healthy', 'check', 'healthy.log'),
    page('two', 'check', 'two-faults.log.gz', '--units', 'us')];

/* A point in the middle of a row, as the screen counts. */
const middle = (tab, selector) => tab.$eval(selector, (e) => {
    e.scrollIntoView({ block: 'center', behavior: 'instant' });
    const b = e.getBoundingClientRect();
    return [b.left + b.width * 0.6, b.top + b.height / 2];
});

test('no page says a word on the console or asks for anything', async () => {
    for (const file of all()) {
        const { tab, said } = await open(file);
        assert.deepStrictEqual(said, [], file);
        await tab.close();
    }
});

test('markup in names of files and interfaces stays text', async () => {
    const { tab, said } = await open(hostile());
    assert.deepStrictEqual(said, []);
    assert.strictEqual(await tab.$$eval('img', (l) => l.length), 0);
    assert.strictEqual(await tab.$$eval('script', (l) => l.length), 2);
    assert.ok((await tab.$eval('.file', (e) => e.textContent)).includes('<img src=x onerror=alert(1)>'));
});

test('the wheel zooms about the pointer, and back; the page is not trapped', async () => {
    const { tab } = await open(dead());
    const [from, to] = await view(tab);
    const [x, y] = await middle(tab, '.chart .plot');
    await new Promise((r) => setTimeout(r, 500)); /* the scroll to the row is over */
    await tab.mouse.move(x, y);
    await tab.mouse.wheel({ deltaY: -300 });
    await settled(tab);
    const [closer, nearer] = await view(tab);
    assert.ok(closer > from && nearer < to, `${closer} to ${nearer}`);
    await tab.mouse.wheel({ deltaY: 3000 });
    await settled(tab);
    assert.deepStrictEqual((await view(tab)).slice(0, 2), [from, to]);
    const before = await tab.evaluate('scrollY');
    await tab.mouse.wheel({ deltaY: 400 });
    await new Promise((r) => setTimeout(r, 300));
    assert.ok(await tab.evaluate('scrollY') > before, 'there is no more to show: the page scrolls');
});

test('a drag moves time, keys move, zoom and reset it', async () => {
    const { tab } = await open(dead());
    await tab.$eval('.rows', (e) => e.focus({ preventScroll: true }));
    await tab.keyboard.press('+');
    await tab.keyboard.press('+');
    await settled(tab);
    const [from, to] = await view(tab);
    assert.ok(to - from < 25, 'two steps closer');
    await tab.keyboard.press('ArrowRight');
    await settled(tab);
    const [later] = await view(tab);
    assert.ok(later > from);
    const [x, y] = await middle(tab, '.chart .plot');
    await tab.mouse.move(x, y);
    await tab.mouse.down();
    await tab.mouse.move(x + 150, y, { steps: 5 });
    await tab.mouse.up();
    await settled(tab);
    const [dragged] = await view(tab);
    assert.ok(dragged < later, `dragged to the right: earlier: ${dragged}, ${later}`);
    await tab.keyboard.press('0');
    await settled(tab);
    const [all0, all1, begin, end] = await view(tab);
    assert.deepStrictEqual([all0, all1], [begin, end]);
});

test('two fingers zoom', async () => {
    const { tab } = await open(dead(), { width: 360, height: 800 });
    const [x, y] = await middle(tab, '.chart .plot');
    const session = await tab.createCDPSession();
    const touch = (type, spread) => session.send('Input.dispatchTouchEvent', { type,
        touchPoints: spread ? [{ x: x - 60 - spread, y, id: 1 }, { x: x - 40 + spread, y, id: 2 }] : [] });
    await touch('touchStart', 10);
    for (let spread = 20; spread <= 80; spread += 10) {
        await touch('touchMove', spread);
    }
    await touch('touchEnd', 0);
    await settled(tab);
    const [from, to, begin, end] = await view(tab);
    assert.ok(to - from < (end - begin) * 0.6, `${to - from} of ${end - begin}`);
});

test('a tap on a finding brings its time and its evidence', async () => {
    for (const width of [360, 1280]) {
        const { tab } = await open(dead(), { width, height: 800 });
        const [x, y] = await middle(tab, '.mark');
        if (width === 360) {
            await tab.touchscreen.tap(x, y);
        } else {
            await tab.mouse.click(x, y);
        }
        await settled(tab);
        const [from, to] = await view(tab);
        assert.ok(from > 5 && from < 13.4 && to > 50, `${from} to ${to}`);
        const sheet = await tab.$eval('.sheet', (e) => e.textContent);
        assert.ok(sheet.includes('zero from 13.4 s'));
        assert.ok(/Messages around its start, 13\.4 s/.test(sheet), 'decoded messages around it');
        assert.ok(await tab.$$eval('.sheet .close tbody tr', (l) => l.length) > 5);
        await shot(tab, `tapped-${width}`, false);
        await tab.close();
    }
});

test('a finding opens from its link and shows from its button', async () => {
    const { tab } = await open(dead());
    await tab.$eval('a[href="#f2"]', (e) => e.click());
    await settled(tab);
    assert.strictEqual(await tab.$eval('#f2', (e) => e.open), true);
    await tab.$eval('#f2 button.show', (e) => e.click());
    await settled(tab);
    assert.ok((await tab.$eval('.sheet', (e) => e.textContent)).includes('puts nothing out'));
});

test('units change everywhere', async () => {
    const { tab } = await open(dead());
    const visible = () => tab.$eval('body', (e) => e.innerText);
    assert.ok(/km\/h/.test(await visible()) && !/mph|lb\/ac/.test(await visible()));
    await tab.click('.units [data-units="us"]');
    await settled(tab);
    assert.ok(/mph/.test(await visible()) && !/km\/h|kg\/ha/.test(await visible()));
    assert.strictEqual(await tab.$eval('.chart .unit', (e) => e.textContent), 'mph');
    await shot(tab, 'us');
    const us = await open(page('two', 'check', 'two-faults.log.gz', '--units', 'us'));
    assert.ok(/mph/.test(await us.tab.$eval('body', (e) => e.innerText)));
});

test('with scripts off the picture and all tables are there', async () => {
    const { tab } = await open(flicker(), { scripts: false });
    await shot(tab, 'scripts-off');
    const session = await tab.createCDPSession();
    const { root } = await session.send('DOM.getDocument');
    const seen = async (selector) => {
        const { nodeId } = await session.send('DOM.querySelector', { nodeId: root.nodeId, selector });
        return nodeId !== 0 && session.send('DOM.getBoxModel', { nodeId }).then(() => true, () => false);
    };
    for (const selector of ['.picture svg .line', '.picture rect.failed', '.picture rect.silent',
        '.picture rect.fault', '#chain table', '#speeds table', '#ecus table', '#recording table', '.key']) {
        assert.ok(await seen(selector), selector);
    }
    for (const selector of ['.live', '.units', 'button.show']) {
        assert.ok(!await seen(selector), `${selector} does nothing without scripts`);
    }
});

test('nothing scrolls sideways from 320 px on, and fingers hit what they aim at', async () => {
    for (const file of all()) {
        const { tab } = await open(file, { width: 360, height: 800 });
        for (const width of [320, 360, 768, 970]) {
            await tab.setViewport({ width, height: 800, isMobile: true, hasTouch: true });
            await settled(tab);
            assert.ok(await tab.evaluate('document.documentElement.scrollWidth') <= width,
                `${file} at ${width}`);
        }
        const small = await tab.$$eval('button, nav a, summary', (l) => l
            .filter((e) => e.getClientRects().length > 0)
            .map((e) => [e.className || e.tagName, e.textContent.slice(0, 30), e.getBoundingClientRect()])
            .filter(([, , b]) => b.width < 43.5 || b.height < 43.5)
            .map(([name, text, b]) => `${name} ${text} ${b.width} x ${b.height}`));
        assert.deepStrictEqual(small, [], file);
        await tab.close();
    }
});

test('paper shows the picture and what is folded', async () => {
    const { tab } = await open(dead());
    await tab.emulateMediaType('print');
    assert.strictEqual(await tab.$eval('.live', (e) => getComputedStyle(e).display), 'none');
    assert.ok(await tab.$eval('.picture svg', (e) => e.getBoundingClientRect().height) > 300);
    await tab.emulateMediaType(null);
    await tab.pdf({ path: path.join(results, 'browser-paper.pdf'), format: 'A4' });
    await tab.emulateMediaType('print');
    await tab.evaluate('window.dispatchEvent(new Event("beforeprint"))');
    assert.strictEqual(await tab.$$eval('details:not([open])', (l) => l.length), 0);
    await tab.setViewport({ width: 794, height: 1123 });
    await shot(tab, 'paper');
});

test('no serious or critical violation of accessibility', async () => {
    const bad = [];
    for (const file of all()) {
        for (const scheme of ['light', 'dark']) {
            for (const width of [360, 1280]) {
                const { tab } = await open(file, { scheme, width });
                await tab.evaluate('document.querySelectorAll("details").forEach((d) => { d.open = true; })');
                const mark = await tab.$('.mark');
                if (mark) {
                    await tab.evaluate('document.querySelector(".mark").click()');
                    await settled(tab);
                }
                await tab.evaluate(axe);
                const found = await tab.evaluate('axe.run({ resultTypes: ["violations"] })');
                found.violations.filter((v) => ['serious', 'critical'].includes(v.impact))
                    .forEach((v) => bad.push(`${path.basename(file)} ${scheme} ${width}: ${v.id}: ${v.nodes[0].html}`));
                await tab.close();
            }
        }
    }
    assert.deepStrictEqual(bad, []);
});

test('the dark scheme is honoured', async () => {
    const ground = async (scheme) => {
        const { tab } = await open(dead(), { scheme });
        const [r] = (await tab.$eval('body', (e) => getComputedStyle(e).backgroundColor)).match(/\d+/g);
        await shot(tab, `dead-1280-${scheme}`);
        return Number(r);
    };
    assert.ok(await ground('light') > 200);
    assert.ok(await ground('dark') < 60);
});

test('a recording without time stamps or of one moment has no timeline and says so', async () => {
    for (const file of [untimed(), single()]) {
        const { tab } = await open(file);
        assert.ok(/so there is no timeline/.test(await tab.$eval('#timeline', (e) => e.textContent)));
        assert.strictEqual(await tab.$eval('.live', (e) => e.hidden), true);
        assert.ok(await tab.$('#ecus table'));
        await tab.close();
    }
});

test('before and after move together, aligned at the first motion', async () => {
    const { tab } = await open(compared());
    const [a, b, motions] = await tab.evaluate(`(([x, y]) => {
        x.view.set(x.view.motion - 1, x.view.motion + 4);
        return [[x.view.from, x.view.to], [y.view.from, y.view.to], [x.view.motion, y.view.motion]];
    })(Drawbar.timelines)`);
    assert.ok(Math.abs((a[0] - motions[0]) - (b[0] - motions[1])) < 0.01, 'same distance to the motion');
    assert.ok(Math.abs((a[1] - a[0]) - 5) < 0.01 && Math.abs((b[1] - b[0]) - 5) < 0.01);
    assert.ok(/Gone/.test(await tab.$eval('#causes', (e) => e.textContent)));
    await shot(tab, 'compared');
});

test('screenshots of every page, for a person to look at', async () => {
    const pages = all();
    for (const file of pages) {
        for (const width of [360, 1280]) {
            const { tab } = await open(file, { width, scheme: 'light' });
            await shot(tab, `${path.basename(file, '.html')}-${width}`);
            await tab.close();
        }
    }
    assert.ok(fs.existsSync(path.join(results, 'browser-dead-360.png')));
});

test('the picture of the README: what to do first, and the timeline', async () => {
    const { tab } = await open(dead(), { width: 960 });
    const box = await (await tab.$('#timeline')).boundingBox();
    assert.ok(box.width > 600 && box.height > 300, `${box.width} by ${box.height}`);
    await tab.screenshot({ path: path.join(results, 'browser-readme.png'), clip: box });
    await tab.close();
});

test('a day: at most 1 MB, detail where it is looked for, soon alive on a slow phone', async () => {
    const file = path.join(scratch, 'day.html');
    const day = path.join(scratch, 'day.log.gz'); /* a file: close-ups read it a second time */
    execFileSync('/bin/sh', ['-c', '"$1/tests/browser/make_day" | gzip -1 >"$3" && ' +
        '{ "$1/drawbar" check --quiet --html "$2" "$3" || [ $? -eq 1 ]; }', 'sh', build, file, day]);
    const bytes = fs.statSync(file).size;
    assert.ok(bytes <= 1e6, `${bytes} bytes`);
    const { tab } = await open(single(), { width: 360, height: 800 });
    const session = await tab.createCDPSession();
    await session.send('Performance.enable', { timeDomain: 'threadTicks' });
    const busy = async () => (await session.send('Performance.getMetrics')).metrics
        .find((m) => m.name === 'TaskDuration').value;
    const before = await busy();
    await tab.goto(`file://${file}`);
    const cpu = (await busy() - before) * 1000;
    await tab.emulateCPUThrottling(4);
    await tab.goto(`file://${file}`);
    const ready = await tab.evaluate('performance.getEntriesByName("drawbar-ready")[0].startTime');
    await tab.emulateCPUThrottling(1);
    console.log(`figure: the page of a day weighs ${bytes} bytes and takes ${Math.round(cpu)} ms of processor `
        + `to come to life; with the processor slowed four times ${Math.round(ready)} ms pass`);
    const points = () => tab.evaluate(`((t) => {
        const chart = t.rows.find((r) => r.curves && r.kind === 'speed');
        return Math.min(...chart.curves.map((c) => c.fitting((t.view.to - t.view.from) / 240).width));
    })(Drawbar.timelines[0])`);
    const whole = await points();
    await tab.evaluate('Drawbar.timelines[0].view.set(36000, 36060)');
    await settled(tab);
    const near = await points();
    assert.ok(near <= 1 && near < whole, `buckets of ${whole} s, then of ${near} s`);
    const [finding, times] = await tab.evaluate(`((t) => {
        const chart = t.rows.find((r) => r.curves && r.kind === 'speed');
        const root = t.report.findings[t.report.verdict.root_causes[0]];
        t.view.set(root.start - 9, root.start + 9);
        return [root.code, chart.rows().map((r) => r[0]).filter((x) => Math.abs(x - root.start) < 9)];
    })(Drawbar.timelines[0])`);
    assert.ok(times.length > 18 * 10, `${finding}: ${times.length} values in 18 s: every message`);
    await shot(tab, 'day-360');
});

require('./inbox.js');
require('./hostile.js');
main();
