// check.js - what the page unpacks against what went in: node check.js SERIES.JS < cases
'use strict';
const lib = require(require('path').resolve(process.argv[2])).drawbarSeries;
let passed = 0, failed = 0;

function ok(name, problem) {
  if (!problem) { passed++; return; }
  failed++;
  console.log('not ok: ' + name + ': ' + problem);
}

// A mean is off by half a step at most; an exact extreme by a step; a coarse one is never
// understated by more than what counts as none, nor overstated by more than the spread.
function differs(got, want, k, level, exact) {
  if (got.state[k] !== want[0]) return 'state ' + got.state[k] + ', expected ' + want[0];
  if (want[0] !== 3)
    return isNaN(got.mean[k]) && isNaN(got.min[k]) && isNaN(got.max[k]) ? '' : 'a value';
  const step = level.step * 1.0001;
  const off = Math.abs(got.mean[k] - want[2]);
  const up = want[3] - want[2], down = want[2] - want[1];
  const above = got.max[k] - got.mean[k], below = got.min[k] <= got.mean[k] ? got.mean[k] - got.min[k] : NaN;
  if (!(off <= step / 2)) return 'mean off by ' + off;
  if (exact && !(Math.abs(above - up) <= step && Math.abs(below - down) <= step)) return 'extremes';
  if (!(above > up - 3 * step && below > down - 3 * step)) return 'extremes understated';
  if (!(above <= 2 * (up + step) + 3 * step && below <= 2 * (down + step) + 3 * step))
    return 'extremes overstated';
  return '';
}

function checkLevel(name, item, level, want, exact) {
  const got = lib.unpack(item, level);
  if (got.count !== want.length) return ok(name, got.count + ' buckets of ' + want.length);
  for (let k = 0; k < got.count; k++) {
    const problem = differs(got, want[k], k, level, exact);
    if (problem) return ok(name, 'bucket ' + k + ': ' + problem);
  }
  ok(name, '');
  ok(name + ': line', lineProblem(lib.line(got, item.hold_s), got, item.hold_s));
}

// By the words of series.h: a line joins two values no further apart than they hold, and
// nothing joins over "error" or "not available".
function lineProblem(points, level, hold) {
  const joined = [];
  let before = null;
  for (const p of points) {
    const k = Math.round(p.t / level.width - 0.5);
    if (!isNaN(p.mean)) joined.push([k, before !== null]);
    before = isNaN(p.mean) ? null : k;
  }
  let at = 0, last = -1;
  for (let k = 0; k < level.count; k++) {
    if (level.state[k] !== 3) continue;
    let whole = last >= 0;
    for (let i = last + 1; whole && i < k; i++) whole = level.state[i] === 0;
    whole = whole && (k === last + 1 || (k - last - 1) * level.width <= hold + 1e-9);
    if (!joined[at] || joined[at][0] !== k) return 'value ' + k + ' missing';
    if (joined[at][1] !== whole) return 'bucket ' + k + (whole ? ' not' : '') + ' joined';
    at++;
    last = k;
  }
  return at === joined.length ? '' : 'more values than there are';
}

function checkCase(c) {
  const series = c.report.series;
  ok(c.name + ': items', series.items.length === c.expect.length ? '' : 'their number');
  series.items.forEach((item, i) => {
    for (const kind of ['overview', 'detail']) {
      const level = item[kind];
      const name = c.name + ': ' + item.quantity + ' ' + item.of + ': ' + kind;
      if (!level || !c.expect[i][kind]) {
        ok(name, !level && !c.expect[i][kind] ? '' : 'there, or missing');
        continue;
      }
      checkLevel(name, item, level, c.expect[i][kind], kind === 'overview' || c.exact);
    }
  });
}

const lines = require('fs').readFileSync(0, 'utf8').split('\n').filter(Boolean);
if (process.argv[3] === '--sizes') {
  for (const line of lines) {
    const series = JSON.parse(line).report.series;
    const sum = (kind) => series.items.reduce((n, i) => n + (i[kind] ? i[kind].data.length : 0), 0);
    for (const i of series.items)
      console.log(i.quantity, i.of, 'overview', i.overview && i.overview.data.length, 'detail',
        i.detail.data.length, 'of', i.detail.width_s + ' s,', 'step', i.detail.step);
    const began = Date.now();
    for (const i of series.items) lib.unpack(i, i.detail);
    console.log('all:', sum('overview'), '+', sum('detail'), 'bytes; unpacked in', Date.now() - began, 'ms');
  }
} else {
  for (const line of lines) checkCase(JSON.parse(line));
  let threw = false;
  try {
    lib.unpack({min: 0, max: 1}, {count: 9, step: 1, width_s: 1, data: 'eNrtwTEBAAAA'});
  } catch (e) {
    threw = true;
  }
  ok('cut data is an error', threw ? '' : 'it was taken');
  console.log(passed + ' passed, ' + failed + ' failed, 0 skipped');
  process.exitCode = failed > 0 ? 1 : 0;
}
