// One composer's minute in a real VS Code workbench: a misspelled chord is underlined, the pointer rests on it, the
// lamp offers the better reading, it is taken, and the saved file holds it. Settings are seen to reach the server.
//
//   node vscode.mjs --recte PROGRAM --vsix FILE --packages DIR [--shot FILE.png]
//
// --packages is the folder whose node_modules holds package.json's dependencies (see the `run` script beside this file).
import assert from 'node:assert/strict';
import { spawn, spawnSync } from 'node:child_process';
import { once } from 'node:events';
import { copyFile, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { setTimeout as sleep } from 'node:timers/promises';
import { parseArgs } from 'node:util';

const { values: options } = parseArgs({
  options: {
    recte: { type: 'string' },
    vsix: { type: 'string' },
    packages: { type: 'string' },
    shot: { type: 'string', default: 'target/editors/vscode.png' },
    browser: { type: 'string', default: '/usr/bin/chromium' },
  },
});

const TUNE = path.join(import.meta.dirname, 'two-bars.abc');
const TITLE = 'Respell as E major: E G♯ B';
const PATIENCE = 60_000;
const require = createRequire(path.join(path.resolve(options.packages), 'package.json'));
const { chromium } = require('playwright-core');
const codeServer = path.join(path.dirname(require.resolve('code-server/package.json')), 'out/node/entry.js');

/** Waits until `look` gives something true, and gives it back. */
async function until(what, look) {
  for (const end = Date.now() + PATIENCE; Date.now() < end; await sleep(200)) {
    const seen = await look();
    if (seen) return seen;
  }
  assert.fail(`waited ${PATIENCE / 1000} s for ${what}`);
}

async function freePort() {
  const server = createServer().listen(0, '127.0.0.1');
  await once(server, 'listening');
  const { port } = server.address();
  server.close();
  await once(server, 'close');
  return port;
}

/** A home of our own: the user's settings, the workspace with one score. */
async function prepare() {
  const home = await mkdtemp(path.join(tmpdir(), 'recte-vscode-'));
  const place = { home, user: path.join(home, 'user'), extensions: path.join(home, 'extensions'), score: path.join(home, 'score', 'two-bars.abc') };
  await mkdir(path.join(place.user, 'User'), { recursive: true });
  await mkdir(path.join(path.dirname(place.score), '.vscode'), { recursive: true });
  await copyFile(TUNE, place.score);
  return place;
}

/** The user's own settings: which server, and a quiet window. */
function userSettings(place) {
  const settings = {
    'recte.server.path': path.resolve(options.recte),
    'chat.disableAIFeatures': true,
    'editor.accessibilitySupport': 'off',
    'editor.fontSize': 18,
    'extensions.autoCheckUpdates': false,
    'files.autoSave': 'off',
    'security.workspace.trust.enabled': false,
    'telemetry.telemetryLevel': 'off',
    'update.mode': 'none',
    'window.commandCenter': false,
    'workbench.startupEditor': 'none',
    'workbench.secondarySideBar.defaultVisibility': 'hidden',
    'workbench.tips.enabled': false,
  };
  return writeFile(path.join(place.user, 'User', 'settings.json'), JSON.stringify(settings, null, 2));
}

/** The workspace's settings: how strongly the rule speaks, and what else is given. */
function setRule(place, severity, more = {}) {
  const settings = { 'recte.rules': { 'chord-spelling': severity }, ...more };
  return writeFile(path.join(path.dirname(place.score), '.vscode', 'settings.json'), JSON.stringify(settings));
}

function codeServerArguments(place) {
  return [codeServer, '--user-data-dir', place.user, '--extensions-dir', place.extensions, '--config', path.join(place.home, 'config.yaml')];
}

function installExtension(place) {
  const done = spawnSync(process.execPath, [...codeServerArguments(place), '--install-extension', options.vsix], { encoding: 'utf8' });
  assert.equal(done.status, 0, `installing the extension failed:\n${done.stdout}${done.stderr}`);
  const list = spawnSync(process.execPath, [...codeServerArguments(place), '--list-extensions'], { encoding: 'utf8' });
  assert.match(list.stdout, /^recte\.recte$/m, 'the extension is not among the installed ones');
}

async function startWorkbench(place, port) {
  const server = spawn(
    process.execPath,
    [...codeServerArguments(place), '--auth', 'none', '--bind-addr', `127.0.0.1:${port}`, '--disable-telemetry', '--disable-update-check', '--disable-workspace-trust'],
    { stdio: ['ignore', 'pipe', 'pipe'], env: { ...process.env, VSCODE_IPC_HOOK_CLI: '' } },
  );
  let log = '';
  for (const stream of [server.stdout, server.stderr]) stream.on('data', (data) => (log += data));
  await until('the workbench to listen', async () => {
    assert.equal(server.exitCode, null, `the workbench stopped:\n${log}`);
    return fetch(`http://127.0.0.1:${port}/healthz`).then((answer) => answer.ok, () => false);
  });
  return server;
}

async function openScore(page, place, port) {
  await page.goto(`http://127.0.0.1:${port}/?folder=${encodeURIComponent(path.dirname(place.score))}`);
  const file = page.locator('.explorer-folders-view .monaco-list-row', { hasText: 'two-bars.abc' });
  await file.waitFor({ timeout: PATIENCE });
  await file.dblclick();
  await page.locator('.view-line', { hasText: '[E_AB]2' }).waitFor({ timeout: PATIENCE });
}

const squiggle = (page, severity) => page.locator(`.squiggly-${severity}`).first().waitFor({ state: 'attached', timeout: PATIENCE });
const noSquiggle = (page) => until('the squiggle to go', async () => (await page.locator('[class*="squiggly-"]').count()) === 0);

/** Rests the pointer on the chord and gives what is shown: the finding's words, and the hover's own. */
async function readHover(page) {
  const line = page.locator('.view-line', { hasText: '[E_AB]2' });
  const text = await line.locator('span').first().boundingBox();
  const place = { x: text.x + 22, y: text.y + text.height / 2 };
  await page.mouse.move(place.x + 300, place.y + 100);
  await page.mouse.move(place.x, place.y, { steps: 5 });
  const hover = page.locator('.monaco-hover:visible', { hasText: 'E major' }).first();
  await hover.waitFor({ timeout: PATIENCE });
  const own = hover.locator('.hover-row.markdown-hover, .hover-row:not(:has(.marker)) .markdown-hover');
  await own.first().waitFor({ timeout: PATIENCE });
  return { all: await hover.innerText(), own: (await own.allInnerTexts()).join('\n').replaceAll('\u00a0', ' ') };
}

async function quickFix(page) {
  await page.keyboard.press('Escape');
  await page.locator('.view-line', { hasText: '[E_AB]2' }).click({ position: { x: 22, y: 10 } });
  await page.keyboard.press('Control+Period');
  const menu = page.locator('.action-widget', { hasText: TITLE });
  const row = menu.locator('.monaco-list-row', { hasText: TITLE });
  await row.waitFor({ timeout: PATIENCE });
  await row.click();
  await menu.waitFor({ state: 'detached', timeout: PATIENCE });
}

async function session(page, place, port) {
  const before = await readFile(place.score, 'utf8');
  // Settings given at the start: the rule speaks as an error.
  await openScore(page, place, port);
  await squiggle(page, 'error');
  // Settings changed while it runs: off, then a warning.
  await setRule(place, 'off');
  await noSquiggle(page);
  await setRule(place, 'warning');
  await squiggle(page, 'warning');

  const hover = await readHover(page);
  await page.screenshot({ path: options.shot });
  assert.match(hover.all, /E, A flat, B is an E major \w+; players expect G sharp\./);
  assert.match(hover.own, /^E major\b/, `the hover does not begin with the chord: ${hover.own}`);

  // Another path to the server starts that one instead: first one that is not there, then ours again.
  await setRule(place, 'warning', { 'recte.server.path': path.join(place.home, 'nothing') });
  await noSquiggle(page);
  await setRule(place, 'warning');
  await squiggle(page, 'warning');

  await quickFix(page);
  await page.locator('.view-line', { hasText: '[E^GB]2' }).waitFor({ timeout: PATIENCE });
  await noSquiggle(page);
  assert.equal(await readFile(place.score, 'utf8'), before, 'the file was written before it was saved');
  await page.keyboard.press('Control+KeyS');
  const after = await until('the saved file', async () => {
    const text = await readFile(place.score, 'utf8');
    return text !== before && text;
  });
  assert.equal(after, before.replace('[E_AB]', '[E^GB]'), 'the quick fix touched more, or less, than the chord');
}

/** Stops the workbench and waits for it, so that nothing of ours outlives the test. */
async function stop(server) {
  if (!server || server.exitCode !== null) return;
  const gone = once(server, 'exit');
  server.kill();
  await Promise.race([gone, sleep(10_000).then(() => server.kill('SIGKILL'))]);
}

const place = await prepare();
let server;
let browser;
try {
  await mkdir(path.dirname(path.resolve(options.shot)), { recursive: true });
  await userSettings(place);
  await setRule(place, 'error');
  installExtension(place);
  const port = await freePort();
  server = await startWorkbench(place, port);
  browser = await chromium.launch({ executablePath: options.browser, args: ['--no-sandbox'] });
  const page = await browser.newPage({ viewport: { width: 1200, height: 720 } });
  try {
    await session(page, place, port);
  } catch (problem) {
    await page.screenshot({ path: options.shot });
    throw problem;
  }
} finally {
  await browser?.close();
  await stop(server);
  await rm(place.home, { recursive: true, force: true });
}
