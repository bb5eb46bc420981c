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
    assert.strictEqual(await tab.$eval('#shown', (e) => e.textContent), '1 of 6 on this page');
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
