/* hostile.js - texts that bite, in by every inlet (tests/hostile): no script runs, all stays text. */
'use strict';
const fs = require('fs');
const path = require('path');
const { spawnSync } = require('child_process');
const { assert, test, page, open, settled, build, scratch } = require('./harness.js');

/* What a reader sees as text of a page, however it is broken into lines. */
const wordsOf = (tab) => tab.evaluate(`[...document.querySelectorAll('body *')]
    .filter((e) => !['SCRIPT', 'STYLE'].includes(e.tagName))
    .map((e) => e.textContent.replace(/\\s+/g, ' ')).join('\\n')`);
const HARMFUL = /[\p{Cc}\p{Default_Ignorable_Code_Point}\u2028\u2029]/u;

function sets() {
    const folder = path.join(scratch, 'hostile');
    if (!fs.existsSync(folder)) {
        fs.mkdirSync(folder);
        const done = spawnSync('/usr/bin/python3',
            [path.resolve(__dirname, '../hostile/inlets.py'), folder],
            { env: { ...process.env, PYTHONDONTWRITEBYTECODE: '1' }, encoding: 'utf8' });
        assert.strictEqual(done.status, 0, done.stderr);
    }
    return JSON.parse(fs.readFileSync(path.join(folder, 'sets.json'), 'utf8'));
}

/* Nothing was run, nothing was asked for, nothing that shows could hide or turn. */
async function innocent(file, what) {
    const { tab, said } = await open(file);
    assert.deepStrictEqual(said, [], what);
    assert.strictEqual(await tab.evaluate('typeof pwned'), 'undefined', what);
    assert.strictEqual(await tab.$$eval('img, object, iframe, base', (l) => l.length), 0, what);
    const words = await wordsOf(tab);
    assert.ok(!HARMFUL.test(words.replace(/\n/g, '')), `${what}: ${HARMFUL.exec(words.replace(/\n/g, ''))}`);
    return { tab, words };
}

function expectShown(words, set, inlets, what) {
    for (const inlet of inlets) {
        const text = set.shown[inlet].replace(/\s+/g, ' ').trim();
        assert.ok(words.includes(text), `${what}: ${inlet}: ${text}`);
    }
}

test('hostile texts from every inlet run nothing on the page and stand there as text', async () => {
    for (const [i, set] of sets().entries()) {
        const { rig, rules, recording } = set.files;
        const file = page(`hostile-${i}`, 'check', '--rig', rig, '--definitions', rules, recording);
        const { tab, words } = await innocent(file, set.name);
        expectShown(words, set, ['file', 'rig ecu', 'section', 'component', 'spn', 'message'], set.name);
        await tab.evaluate('(document.querySelector(".mark") || document.body).click()');
        await settled(tab);
        assert.strictEqual(await tab.evaluate('typeof pwned'), 'undefined', set.name);
        assert.strictEqual(await tab.$$eval('img', (l) => l.length), 0, set.name);
        await tab.close();
    }
});

test('hostile texts run nothing where two recordings are compared', async () => {
    for (const [i, set] of sets().entries()) {
        const { rig, rules, recording, later } = set.files;
        const file = page(`hostile-compared-${i}`, 'compare', '--rig', rig, '--definitions', rules,
            recording, later);
        const { tab, words } = await innocent(file, set.name);
        expectShown(words, set, ['file', 'rig ecu'], set.name);
        await tab.close();
    }
});

test('hostile texts run nothing in the index of an inbox, filtered and sorted', async () => {
    const uploads = path.join(scratch, 'hostile-uploads'), site = path.join(scratch, 'hostile-site');
    const all = sets();
    fs.mkdirSync(uploads);
    for (const [i, { files }] of all.entries()) {
        fs.cpSync(files.uploads, path.join(uploads, String(i)), { recursive: true });
    }
    const done = spawnSync(path.join(build, 'drawbar'), ['inbox', uploads, '--out', site, '--quiet'],
        { encoding: 'utf8' });
    assert.strictEqual(done.status, 1, done.stderr);
    const { tab, words } = await innocent(path.join(site, 'index.html'), 'index');
    all.forEach((set) => expectShown(words, set, ['file'], set.name));
    await tab.type('#find', '<script>');
    await settled(tab);
    assert.ok(await tab.$$eval('tbody tr', (l) => l.some((r) => r.offsetParent !== null)), 'found as text');
    assert.strictEqual(await tab.evaluate('typeof pwned'), 'undefined');
    await tab.close();
    await innocent(path.join(site, 'history.html'), 'history');
});
