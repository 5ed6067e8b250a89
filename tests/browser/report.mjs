// The report's pages in a real browser: nothing asked of the network, AA by axe-core in light and dark, no sideways scrolling
// on a phone, three printed pages at most, and what is heard: the right pitches at the right times, of both drafts where
// there is a last one.
//
//   node report.mjs --recte PROGRAM --packages DIR [--shots DIR] [--browser PROGRAM]
//
// --packages is the folder whose node_modules holds package.json's dependencies (see the `run` script beside this file).
import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { mkdir, mkdtemp, readdir, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { pathToFileURL } from 'node:url';
import { parseArgs } from 'node:util';

const { values: options } = parseArgs({
  options: {
    recte: { type: 'string' },
    packages: { type: 'string' },
    shots: { type: 'string' },
    browser: { type: 'string', default: '/usr/bin/chromium' },
  },
});
const require = createRequire(path.join(path.resolve(options.packages), 'package.json'));
const { chromium } = require('playwright-core');
const axe = require('axe-core');
const root = path.join(import.meta.dirname, '../..');
const scores = 'tests/report';
const PAGES = 3;

/** Reports on some paths, into a folder. */
function report(folder, ...paths) {
  const ran = spawnSync(options.recte, ['report', ...paths, '-o', folder], { cwd: root, encoding: 'utf8' });
  assert.equal(ran.status, 0, ran.stderr);
}

/** Opens a page and keeps what goes wrong in it. */
async function open(browser, file, settings = {}, before = undefined) {
  const context = await browser.newContext(settings);
  if (before) await context.addInitScript(before);
  const page = await context.newPage();
  const wrong = [];
  page.on('console', (message) => { if (['error', 'warning'].includes(message.type())) wrong.push(message.text()); });
  page.on('pageerror', (error) => wrong.push(String(error)));
  page.on('request', (request) => { if (!request.url().startsWith('file:')) wrong.push(request.url()); });
  await page.goto(pathToFileURL(file).href);
  return { context, page, wrong };
}

/** What a reader of any kind meets: contrast, names, structure, in light and dark, on a desk and on a phone. */
async function reads(browser, file) {
  const name = path.basename(file, '.html');
  for (const colorScheme of ['light', 'dark']) {
    for (const [device, width, height] of [['desk', 1100, 900], ['phone', 360, 740]]) {
      const { context, page, wrong } = await open(browser, file, { colorScheme, viewport: { width, height } });
      await page.evaluate(() => document.querySelectorAll('details').forEach((one) => { one.open = true; }));
      await page.evaluate(axe.source);
      const { violations } = await page.evaluate(() => window.axe.run(document, {
        runOnly: ['wcag2a', 'wcag2aa', 'wcag21a', 'wcag21aa', 'wcag22aa', 'best-practice'],
      }));
      const told = violations.map((one) => `${one.id}: ${one.nodes.slice(0, 3).map((node) => `${node.target} ${node.failureSummary}`).join(' | ')}`);
      assert.deepEqual(told, [], `${name}, ${colorScheme}, ${device}`);
      const wide = await page.evaluate(() => [document.documentElement.scrollWidth, window.innerWidth]);
      assert.ok(wide[0] <= wide[1], `${name} scrolls sideways on a ${device}: ${wide}`);
      const broken = await page.evaluate(() => [...document.querySelectorAll('a[href^="#"]')]
        .map((link) => link.getAttribute('href').slice(1)).filter((id) => !document.getElementById(id)));
      assert.deepEqual(broken, [], `${name}: links that lead nowhere`);
      assert.deepEqual(wrong, [], name);
      await context.close();
    }
  }
  console.log(`${name}: no violation in light and dark, desk and phone; nothing scrolls sideways; no link leads nowhere`);
}

async function prints(browser, file) {
  const { context, page } = await open(browser, file);
  const pdf = (await page.pdf({ format: 'A4', preferCSSPageSize: false })).toString('latin1');
  const pages = pdf.match(/\/Type\s*\/Page\b(?!s)/g)?.length ?? 0;
  console.log(`${path.basename(file, '.html')}: ${pages} printed pages`);
  assert.ok(pages >= 1 && pages <= PAGES, `${file}: ${pages} printed pages`);
  await context.close();
}

async function shots(browser, folder, out) {
  await mkdir(out, { recursive: true });
  for (const name of (await readdir(folder)).filter((name) => name.endsWith('.html'))) {
    for (const [kind, settings] of [
      ['light', { colorScheme: 'light', viewport: { width: 1000, height: 1250 } }],
      ['dark', { colorScheme: 'dark', viewport: { width: 1000, height: 1250 } }],
      ['phone', { colorScheme: 'light', viewport: { width: 360, height: 740 }, deviceScaleFactor: 2 }],
    ]) {
      const { context, page } = await open(browser, path.join(folder, name), settings);
      const base = path.join(out, `${path.basename(name, '.html')}-${kind}`);
      await page.screenshot({ path: `${base}.png` });
      await page.screenshot({ path: `${base}-whole.png`, fullPage: true });
      if (kind === 'light') await page.pdf({ path: path.join(out, `${path.basename(name, '.html')}.pdf`), format: 'A4' });
      await context.close();
    }
  }
}

/** Runs in the page before its script: writes down what is started, and listens at the end of the audio graph. */
function spy() {
  window.started = [];
  const heard = (node) => {
    const { start } = node;
    node.start = function at(when) {
      window.started.push({ frequency: node.frequency?.value ?? null, when, now: node.context.currentTime });
      return start.call(this, when);
    };
    return node;
  };
  const context = window.AudioContext.prototype;
  for (const kind of ['createOscillator', 'createBufferSource']) {
    const make = Object.getPrototypeOf(context)[kind] ?? context[kind];
    context[kind] = function made() { return heard(make.call(this)); };
  }
  const { connect } = window.AudioNode.prototype;
  window.AudioNode.prototype.connect = function joined(to, ...rest) {
    if (to === this.context.destination) {
      window.audio = this.context;
      window.analyser = this.context.createAnalyser();
      window.analyser.fftSize = 16384;
      connect.call(this, window.analyser);
    }
    return connect.call(this, to, ...rest);
  };
  window.loudness = () => {
    const samples = new Float32Array(window.analyser.fftSize);
    window.analyser.getFloatTimeDomainData(samples);
    return Math.sqrt(samples.reduce((sum, one) => sum + one * one, 0) / samples.length);
  };
  window.loudest = () => {
    const bins = new Float32Array(window.analyser.frequencyBinCount);
    window.analyser.getFloatFrequencyData(bins);
    return bins.indexOf(Math.max(...bins)) * window.audio.sampleRate / window.analyser.fftSize;
  };
}

const SOUND = `X:1
T:Four and Four
M:4/4
L:1/4
Q:1/4=120
V:1 name="Violin"
V:2 name="Cello" clef=bass
K:C
[V:1] A B [E_AB] d | a2 z2 | c4 |]
[V:2] E,4          | B,,,4 | C,4 |]
`;

const frequency = (midi) => 440 * 2 ** ((midi - 69) / 12);

/** Presses a control and gives what was started until it has ended. */
async function hear(page, name, seconds) {
  await page.evaluate(() => { window.started = []; });
  await page.getByRole('button', { name, exact: true }).first().click();
  await sleep(seconds * 1000);
  return page.evaluate(() => window.started);
}

function same(started, expected, what) {
  const first = Math.min(...started.map((one) => one.when));
  const got = started.map((one) => [one.when - first, one.frequency]).sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  const wanted = expected.map(([at, midi]) => [at, frequency(midi)]).sort((a, b) => a[0] - b[0] || a[1] - b[1]);
  assert.equal(got.length, wanted.length, `${what}: ${JSON.stringify(got)}`);
  got.forEach(([at, pitch], place) => {
    assert.ok(Math.abs(at - wanted[place][0]) < 0.005, `${what}: begins at ${at}, not ${wanted[place][0]}`);
    assert.ok(Math.abs(pitch - wanted[place][1]) < 0.01, `${what}: ${pitch} Hz, not ${wanted[place][1]}`);
  });
  for (const one of started) assert.ok(one.when >= one.now - 0.001, `${what}: handed over late`);
}

async function sounds(browser, folder) {
  const tune = path.join(folder, 'sound.abc');
  await writeFile(tune, SOUND);
  const out = path.join(folder, 'sound');
  report(out, tune);
  const { context, page, wrong } = await open(browser, path.join(out, 'sound.html'), {}, spy);
  const bar1 = [[0, 69], [0, 52], [0.5, 71], [1, 64], [1, 68], [1, 71], [1.5, 74]];
  same(await hear(page, 'Hear bar 1', 2.6), bar1, 'bar 1');
  assert.equal(await page.evaluate(() => window.audio.state), 'running');
  assert.equal(await page.getByRole('button', { name: 'Hear bar 1', exact: true }).first().getAttribute('aria-pressed'), 'false');
  // Bar 2: A5 over a note the cello does not have, and an octave higher as proposed.
  same(await hear(page, 'Hear bar 2', 2.6), [[0, 81], [0, 35]], 'bar 2');
  same(await hear(page, 'Hear it so: bar 2 as proposed', 2.6), [[0, 81], [0, 47]], 'bar 2 as proposed');
  // What comes out at the end of the graph is sound, and of that pitch.
  await page.getByRole('button', { name: 'Hear bar 2', exact: true }).first().click();
  await sleep(700);
  assert.ok(await page.evaluate(() => window.loudness()) > 0.01, 'something sounds');
  const loudest = await page.evaluate(() => window.loudest());
  assert.ok([35, 81].some((midi) => Math.abs(loudest - frequency(midi)) < 4), `the loudest is ${loudest} Hz`);
  // Silent parts, and the tempo.
  await page.locator('#player summary').click();
  await page.getByRole('checkbox', { name: 'Violin' }).uncheck();
  await page.getByRole('checkbox', { name: 'Cello' }).uncheck();
  await page.getByRole('button', { name: 'Hear bars 1–3' }).first().click();
  await sleep(900);
  assert.ok(await page.evaluate(() => window.loudness()) < 0.001, 'both parts are silent');
  await page.getByRole('checkbox', { name: 'Violin' }).check();
  await sleep(900);
  assert.ok(await page.evaluate(() => window.loudness()) > 0.01, 'one of them again');
  await page.locator('[data-stop]').click();
  await page.getByRole('slider', { name: 'Tempo' }).fill('50');
  same(await hear(page, 'Hear bar 1', 4.8), bar1.map(([at, midi]) => [2 * at, midi]), 'half as fast');
  // Stopped, nothing more is started.
  await page.getByRole('button', { name: 'Hear bar 1', exact: true }).first().click();
  await page.locator('[data-stop]').click();
  const before = await page.evaluate(() => window.started.length);
  await sleep(1500);
  assert.equal(await page.evaluate(() => window.started.length), before, 'stopped');
  assert.deepEqual(wrong, []);
  console.log('sound: right pitches at the right times, as written, as proposed, half as fast; parts silenced; stopped');
  await context.close();
}

/** Both drafts can be heard, each at its own tempo, and what is new leads to its place. */
async function drafts(browser, folder) {
  const [old, tune] = ['last.abc', 'next.abc'].map((name) => path.join(folder, name));
  await writeFile(old, SOUND.replace('1/4=120', '1/4=60').replace('a2 z2', 'g2 e2').replace('B,,,4', 'E,4'));
  await writeFile(tune, SOUND);
  const out = path.join(folder, 'drafts');
  report(out, tune, '--since', old);
  const { context, page, wrong } = await open(browser, path.join(out, 'next.html'), {}, spy);
  same(await hear(page, 'Hear it as it was: bar 2 of the last draft', 5), [[0, 79], [2, 76], [0, 52]], 'bar 2 as it was');
  same(await hear(page, 'Hear bar 2', 2.6), [[0, 81], [0, 35]], 'bar 2 as it is');
  const link = page.locator('#since li a').first();
  const target = (await link.getAttribute('href')).slice(1);
  await page.evaluate(() => document.querySelectorAll('details').forEach((one) => { one.open = false; }));
  await link.click();
  assert.ok(await page.locator(`#${target}`).isVisible(), `${target} is to be seen`);
  assert.deepEqual(wrong, []);
  console.log('drafts: as it is and as it was, each at its own tempo; a new remark leads to its place');
  await context.close();
  const demo = path.join(folder, 'demo');
  report(demo, 'tests/drafts/second/low-water.abc', '--since', 'tests/drafts/first/low-water.abc');
  await reads(browser, path.join(demo, 'low-water.html'));
  await prints(browser, path.join(demo, 'low-water.html'));
  if (options.shots) await shots(browser, demo, path.join(options.shots, 'since'));
}

const work = await mkdtemp(path.join(tmpdir(), 'recte-report-'));
const browser = await chromium.launch({ executablePath: options.browser, args: ['--no-sandbox', '--autoplay-policy=no-user-gesture-required'] });
try {
  const pages = path.join(work, 'pages');
  report(pages, scores);
  const files = (await readdir(pages)).filter((name) => name.endsWith('.html')).map((name) => path.join(pages, name));
  assert.equal(files.length, 4, files.join(', '));
  if (options.shots) await shots(browser, pages, options.shots);
  for (const file of files) {
    await reads(browser, file);
    await prints(browser, file);
  }
  await sounds(browser, work);
  await drafts(browser, work);
} finally {
  await browser.close();
  await rm(work, { recursive: true, force: true });
}
