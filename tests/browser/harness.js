/*
 * harness.js - what the browser tests share: a list of tests, a page of the program's
 * own making, a browser that writes down every word on its console and every request.
 */
'use strict';
const assert = require('assert');
const { execFileSync, spawnSync } = require('child_process');
const fs = require('fs');
const os = require('os');
const path = require('path');
const puppeteer = require('puppeteer-core');

const [build, results] = process.argv.slice(2);
const samples = path.resolve(__dirname, '../../samples');
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), 'drawbar-browser-'));
const list = [];
let browser = null;

/* Registers a test; it returns a reason for which it was skipped, or nothing. */
function test(name, run) {
    list.push({ name, run });
}

/* Runs the program; the page's path. 0 and 1 are its normal answers. */
function page(name, ...args) {
    const file = path.join(scratch, `${name}.html`);
    if (!fs.existsSync(file)) {
        const done = spawnSync(path.join(build, 'drawbar'), [...args, '--quiet', '--html', file],
            { cwd: samples, encoding: 'utf8' });
        assert.ok(done.status === 0 || done.status === 1, `${args.join(' ')}: ${done.stderr}`);
    }
    return file;
}

const written = (name, text) => {
    const file = path.join(scratch, name);
    fs.writeFileSync(file, text);
    return file;
};

/* Opens a page; `said` gathers what the console, the page's errors and the network say. */
async function open(file, options) {
    const o = Object.assign({ width: 1280, height: 900, scheme: 'light', scripts: true }, options);
    const tab = await browser.newPage();
    const said = [];
    tab.on('console', (m) => said.push(`console: ${m.text()}`));
    tab.on('pageerror', (e) => said.push(`error: ${e.message}`));
    tab.on('dialog', (d) => { said.push(`dialog: ${d.message()}`); d.dismiss(); });
    tab.on('request', (r) => {
        if (r.url() !== `file://${file}` && r.url() !== 'data:,') {
            said.push(`request: ${r.url()}`);
        }
    });
    await tab.setViewport({ width: o.width, height: o.height, isMobile: o.width < 500,
        hasTouch: o.width < 500 });
    await tab.emulateMediaFeatures([{ name: 'prefers-color-scheme', value: o.scheme }]);
    await tab.setJavaScriptEnabled(o.scripts);
    await tab.goto(`file://${file}`);
    await settled(tab);
    return { tab, said };
}

/* Two pictures drawn: what an action changed is on the screen. Without scripts no one calls back. */
async function settled(tab) {
    if (!tab.isJavaScriptEnabled()) {
        return;
    }
    await tab.evaluate('new Promise((r) => requestAnimationFrame(() => requestAnimationFrame(r)))');
}

const shot = (tab, name, fullPage) =>
    tab.screenshot({ path: path.join(results, `browser-${name}.png`), fullPage: fullPage !== false });

/* The stretch of time that the first timeline shows. */
const view = (tab) => tab.evaluate(
    '(({ view }) => [view.from, view.to, view.begin, view.end])(Drawbar.timelines[0])');

async function main() {
    let passed = 0, failed = 0, skipped = 0;
    browser = await puppeteer.launch({ executablePath: '/usr/bin/chromium', headless: true,
        args: process.getuid() === 0 ? ['--no-sandbox'] : [] });
    for (const { name, run } of list) {
        try {
            const why = await run();
            if (why) {
                console.log(`SKIPPED: ${name}: ${why}`);
                skipped++;
            } else {
                console.log(`ok: ${name}`);
                passed++;
            }
        } catch (error) {
            console.log(`not ok: ${name}\n${error.stack}`);
            failed++;
        }
        await Promise.all((await browser.pages()).slice(1).map((p) => p.close()));
    }
    await browser.close();
    fs.rmSync(scratch, { recursive: true });
    console.log(`${passed} passed, ${failed} failed, ${skipped} skipped`);
    process.exitCode = failed > 0 || passed + skipped === 0 ? 1 : 0;
}

module.exports = { assert, test, page, written, open, settled, shot, view, main, build, results,
    samples, scratch, execFileSync };
