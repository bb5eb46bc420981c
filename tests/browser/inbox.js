/* inbox.js - what a person does with the index of an inbox. */
'use strict';
const fs = require('fs');
const path = require('path');
const { spawnSync } = require('child_process');
const { assert, test, open, settled, shot, build, samples, scratch } = require('./harness.js');
const axe = fs.readFileSync(require.resolve('axe-core/axe.min.js'), 'utf8');

const NAMES = ['axle-sensor-dead.log', 'address-conflict.log', 'healthy.log', 'booms-flicker.log.gz'];

/* An inbox of a few samples, of which one is later and has a name that bites, and an empty one. */
function site() {
    const folder = path.join(scratch, 'site');
    if (!fs.existsSync(folder)) {
        const uploads = path.join(scratch, 'uploads');
        fs.mkdirSync(uploads);
        NAMES.forEach((name) => fs.copyFileSync(path.join(samples, name), path.join(uploads, name)));
        fs.writeFileSync(path.join(uploads, '<img src=x onerror=alert(1)>.log'),
            fs.readFileSync(path.join(samples, NAMES[0]), 'utf8').replace(/^\(17/gm, '(18'));
        fs.writeFileSync(path.join(uploads, 'empty.log'), '');
        const done = spawnSync(path.join(build, 'drawbar'), ['inbox', uploads, '--out', folder, '--quiet'],
            { encoding: 'utf8' });
        assert.strictEqual(done.status, 1, done.stderr);
    }
    return folder;
}

const index = () => path.join(site(), 'index.html');
const history = () => path.join(site(), 'history.html');

/* The names of the uploads that are shown, from the top. */
const shown = (tab) => tab.$$eval('tbody tr', (rows) => rows.filter((r) => r.offsetParent !== null)
    .map((r) => r.dataset.name));

test('the index of an inbox says no word and shows names as text', async () => {
    for (const file of [index(), history()]) {
        for (const scripts of [true, false]) {
            const { tab, said } = await open(file, { scripts });
            assert.deepStrictEqual(said, [], file);
            await tab.close();
        }
    }
    const { tab } = await open(index());
    assert.strictEqual(await tab.$$eval('img', (l) => l.length), 0);
    assert.ok((await shown(tab)).includes('<img src=x onerror=alert(1)>.log'));
});

test('without scripts the index is whole, worst first, and offers nothing that does nothing', async () => {
    const { tab } = await open(index(), { scripts: false });
    const names = await shown(tab);
    assert.strictEqual(names.length, 6);
    assert.strictEqual(names[0], '<img src=x onerror=alert(1)>.log');
    assert.deepStrictEqual(names.slice(-2), ['empty.log', 'healthy.log']);
    assert.strictEqual(await tab.$eval('.sieve', (e) => e.offsetParent), null);
});

test('the index is filtered by words and by what was found', async () => {
    const { tab } = await open(index());
    await tab.type('#find', 'SPEED-stuck dead');
    await settled(tab);
    assert.deepStrictEqual(await shown(tab), ['axle-sensor-dead.log']);
    assert.strictEqual(await tab.$eval('#shown', (e) => e.textContent), '1 of 6');
    await tab.$eval('#find', (e) => { e.value = ''; e.dispatchEvent(new Event('input')); });
    await tab.select('#show', 'unusable');
    assert.deepStrictEqual(await shown(tab), ['empty.log']);
    await tab.select('#show', '');
    assert.strictEqual((await shown(tab)).length, 6);
});

test('the index is sorted; what is unknown comes last, and back', async () => {
    const { tab } = await open(index());
    const before = await shown(tab);
    await tab.select('#sort', 'oldest');
    const oldest = await shown(tab);
    assert.deepStrictEqual(oldest.slice(-2), ['<img src=x onerror=alert(1)>.log', 'empty.log']);
    await tab.select('#sort', 'name');
    const names = await shown(tab);
    assert.deepStrictEqual(names, [...before].sort());
    await tab.select('#sort', 'urgency');
    assert.deepStrictEqual(await shown(tab), before);
});

test('a row of the index leads to its report', async () => {
    const { tab } = await open(index());
    await Promise.all([tab.waitForNavigation(), tab.click('a[href^="reports/"]')]);
    assert.ok((await tab.title()).startsWith('Drawbar report:'));
});

/* 2,300 uploads on three pages, from reports of a line each; every 700th is a fault. */
function long() {
    const folder = path.join(scratch, 'long');
    if (!fs.existsSync(folder)) {
        const maps = path.join(scratch, 'maps');
        fs.mkdirSync(maps);
        for (let i = 0; i < 2300; i++) {
            const finding = { code: i % 700 === 699 ? 'speed-lost' : 'recording-short',
                severity: i % 700 === 699 ? 'fault' : 'note', title: `number ${i}`, start: 0 };
            fs.writeFileSync(path.join(maps, `${i}.json`), JSON.stringify({
                schema: 'drawbar-report/1',
                recording: { start: 1.6e9 + 7919 * i % 2300, time_base: 'epoch', duration_s: 1 + i,
                    files: [{ path: i === 1234 ? '</script><img src=x onerror=alert(3)>' : `upload ${i}`,
                        sha256: String(i).padStart(64, '0') }] },
                ecus: [], chain: [], findings: [finding], verdict: { root_causes: [], sentence: 'S' },
            }));
        }
        const done = spawnSync(path.join(build, 'drawbar'),
            ['inbox', '--reports', maps, '--out', folder, '--quiet'], { encoding: 'utf8' });
        assert.strictEqual(done.status, 1, done.stderr);
    }
    return folder;
}

const told = (tab) => tab.$eval('#shown', (e) => e.textContent);
const toldWhole = (tab) => tab.waitForFunction(
    () => /^\d+ of 2300($|; the first)/.test(document.getElementById('shown').textContent));

test('a list of several pages is filtered and sorted as one, from whichever page', async () => {
    for (const name of ['index.html', 'index-2.html', 'index-3.html']) {
        const { tab, said } = await open(path.join(long(), name));
        assert.deepStrictEqual(said, [], 'nothing is read before somebody asks');
        const before = await shown(tab);
        assert.ok(fs.statSync(path.join(long(), name)).size <= 3000000);
        await tab.select('#show', 'fault');
        await toldWhole(tab);
        assert.deepStrictEqual((await shown(tab)).sort(), ['upload 1399', 'upload 2099', 'upload 699']);
        assert.strictEqual(await told(tab), '3 of 2300');
        await tab.select('#show', '');
        await tab.select('#sort', 'longest');
        assert.deepStrictEqual((await shown(tab)).slice(0, 2), ['upload 2299', 'upload 2298']);
        assert.strictEqual(await told(tab), '2300 of 2300; the first 1000 are shown');
        await tab.type('#find', 'onerror');
        assert.deepStrictEqual(await shown(tab), ['</script><img src=x onerror=alert(3)>']);
        assert.strictEqual(await tab.$$eval('img', (l) => l.length), 0);
        await tab.select('#sort', 'urgency');
        await tab.$eval('#find', (e) => { e.value = ''; e.dispatchEvent(new Event('input')); });
        assert.deepStrictEqual(await shown(tab), before, 'the page as it was');
        assert.ok(said.every((s) => /^request: file:.*\/index-rows-[123]\.js$/.test(s)), said.join());
    }
});

test('without the other pages, or with those of another run, the list says what it lacks', async () => {
    const alone = path.join(scratch, 'alone');
    fs.mkdirSync(alone);
    fs.copyFileSync(path.join(long(), 'index-2.html'), path.join(alone, 'index-2.html'));
    for (const rows of [null, 'drawbarRows("of another run", 1, "<tr data-name=\\"other\\"></tr>");']) {
        if (rows) {
            fs.writeFileSync(path.join(alone, 'index-rows-1.js'), rows);
        }
        const { tab } = await open(path.join(alone, 'index-2.html'));
        await tab.select('#sort', 'name');
        await tab.waitForFunction(
            () => document.getElementById('shown').textContent.includes('could not be read'));
        assert.ok((await told(tab)).startsWith('1000 of 1000; '));
        assert.strictEqual((await shown(tab)).length, 1000);
        await tab.close();
    }
});

test('without scripts a long list is its pages, and leads from one to the next', async () => {
    const { tab } = await open(path.join(long(), 'index.html'), { scripts: false });
    assert.strictEqual((await shown(tab)).length, 1000);
    await Promise.all([tab.waitForNavigation(), tab.click('nav a[href="index-3.html"]')]);
    assert.strictEqual((await shown(tab)).length, 300);
});

test('the index fits a telephone, and can be used by everyone', async () => {
    for (const [file, name] of [[index(), 'inbox'], [history(), 'history']]) {
        for (const width of [1280, 360]) {
            for (const scheme of ['light', 'dark']) {
                const { tab } = await open(file, { width, scheme });
                const [wide, view] = await tab.evaluate('[document.documentElement.scrollWidth, innerWidth]');
                assert.ok(wide <= view, `${name} at ${width}: ${wide} wide`);
                await shot(tab, `${name}-${width}-${scheme}`);
                await tab.evaluate(axe);
                const found = await tab.evaluate('axe.run({ resultTypes: ["violations"] })');
                assert.deepStrictEqual(found.violations
                    .filter((v) => ['serious', 'critical'].includes(v.impact))
                    .map((v) => [name, width, scheme, v.id, v.nodes[0].html.slice(0, 200)]), []);
                await tab.close();
            }
        }
    }
});
