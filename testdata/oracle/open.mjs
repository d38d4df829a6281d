// Drives the pages of "runsheet open" in Chromium with keys alone, as a person
// does who writes down a month, and prints as JSON what a test wants to know.
//
//   node open.mjs PROGRAM LOG PICTURES
//
// PICTURES is a folder for pictures of the pages; "" for none.
import { spawn } from 'node:child_process';
import { createRequire } from 'node:module';
import { dirname } from 'node:path';
import { copyFileSync, readFileSync } from 'node:fs';
import { chromium } from 'playwright-core';

const [program, log, pictures] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const out = { violations: [], requests: [], errors: [], sideways: [], titles: [], summaries: [] };

// serve starts the program and waits for the file that opens its page.
async function serve(what) {
  const one = { process: spawn(program, ['open', what, '--no-browser']), said: '' };
  one.ended = new Promise((ok) => one.process.on('exit', ok));
  one.file = await new Promise((ok, no) => {
    one.process.stderr.on('data', (data) => { one.said += data; const m = one.said.match(/works once: (.*)\n/); if (m) ok(m[1]); });
    one.process.on('exit', () => no(new Error(one.said)));
  });
  return one;
}
const served = await serve(log);
let sheet;
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] });
let base = '';

// newPage is a page in which every request and every error is noted.
async function newPage(options) {
  const context = await browser.newContext({ acceptDownloads: true, locale: 'en-GB', timezoneId: 'Europe/London', viewport: { width: 1280, height: 900 }, ...options });
  context.on('request', (r) => out.requests.push(r.url()));
  const page = await context.newPage();
  page.on('console', (m) => { if (m.type() === 'error' && !/status of (403|409)/.test(m.text())) out.errors.push(`${m.text()} ${m.location().url}`); });
  page.on('pageerror', (e) => out.errors.push(String(e)));
  return page;
}

// looked runs axe-core on the page, and looks whether it scrolls sideways.
let pictured = 0;
async function looked(page, name) {
  await page.evaluate(axe); // by the debugger: the policy of the page forbids the script
  const found = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations'], preload: false }));
  for (const v of found.violations) out.violations.push(`${name}: ${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.target.join(' ')).join(', ')}`);
  for (const width of [1280, 320]) {
    await page.setViewportSize({ width, height: 900 });
    const more = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    if (more > 0) out.sideways.push(`${name} at ${width}: ${more}`);
    if (pictures) await page.screenshot({ path: `${pictures}/${String(pictured++).padStart(2, '0')}-${name}-${width}.png`, fullPage: true });
  }
  await page.setViewportSize({ width: 1280, height: 900 });
}

const focused = (page) => page.evaluate(() => ({ name: document.activeElement.name ?? '', text: (document.activeElement.textContent ?? '').trim(), value: document.activeElement.value ?? '', tag: document.activeElement.tagName }));

// tabTo presses Tab until the focus is where it should be.
async function tabTo(page, is, what) {
  for (let i = 0; i < 400; i++) {
    if (is(await focused(page))) return;
    await page.keyboard.press('Tab');
  }
  throw new Error(`the Tab key does not reach ${what} on ${page.url()}`);
}
const toField = (page, name) => tabTo(page, (f) => f.name === name, name);
const press = async (page, text) => { await tabTo(page, (f) => (f.tag === 'BUTTON' || f.tag === 'A') && f.text === text, text); await Promise.all([page.waitForNavigation(), page.keyboard.press('Enter')]); };

// typed fills fields in the order of the page.
async function typed(page, fields) {
  for (const [name, text] of Object.entries(fields)) {
    await toField(page, name);
    if ((await focused(page)).tag !== 'SELECT') await page.keyboard.press('Control+A');
    if (text) await page.keyboard.type(text); else await page.keyboard.press('Delete');
  }
}
const save = (page) => Promise.all([page.waitForNavigation(), page.keyboard.press('Control+S')]);

// checked waits until the log is checked.
async function checked(page) {
  while (await page.getByText('still being checked').count()) { await page.waitForTimeout(300); await page.reload(); }
}

const before = (w, s, d) => ({ 'sessions.0.weight_before_kg': w, 'sessions.0.bp_before_systolic_mmhg': s, 'sessions.0.bp_before_diastolic_mmhg': d, 'sessions.0.pulse_before_per_min': '72' });
const after = (end, uf, w, s, d) => ({ 'sessions.0.end': end, 'sessions.0.uf_removed_l': uf, 'sessions.0.treated_min': '180', 'sessions.0.weight_after_kg': w, 'sessions.0.bp_after_systolic_mmhg': s, 'sessions.0.bp_after_diastolic_mmhg': d, 'sessions.0.pulse_after_per_min': '74' });
const reading = (n, time, s, d, flow, art, ven, uf) => ({ [`readings.new${n}.time`]: time, [`readings.new${n}.bp_systolic_mmhg`]: s, [`readings.new${n}.bp_diastolic_mmhg`]: d, [`readings.new${n}.blood_flow_ml_min`]: flow, [`readings.new${n}.arterial_pressure_mmhg`]: art, [`readings.new${n}.venous_pressure_mmhg`]: ven, [`readings.new${n}.uf_so_far_l`]: uf });

try {
  const page = await newPage();
  await page.goto(`file://${served.file}`);
  await page.waitForURL(/^http:\/\/127\.0\.0\.1:\d+\/$/);
  base = new URL(page.url()).origin;
  await looked(page, 'begin');
  await press(page, 'Begin a new log');
  await looked(page, 'empty');

  await press(page, 'About you');
  await typed(page, { 'patient.identifier_value': 'HHD-00077', 'patient.identifier_system': 'urn:oid:2.25.1', 'patient.sex': 'm', 'patient.birth_date': '1963-04-02', 'patient.height_cm': '172', 'prescription.1.valid_from': '2025-10-01', 'prescription.1.sessions_per_week': '3', 'prescription.1.duration_min': '180', 'prescription.1.dry_weight_kg': '70', 'log.time_zone': 'Europe/London' });
  await save(page);
  await looked(page, 'about');

  const sessions = [
    { day: '03112025', iso: '2025-11-03', slips: { 'sessions.0.weight_before_kg': ['718', '71.8'], 'sessions.0.bp_before_systolic_mmhg': ['14x', '142'] }, w: '71.8', s: '142', d: '82', end: '21:05', uf: '1.8', wa: '70.1' },
    { day: '05112025', iso: '2025-11-05', slips: { 'sessions.0.end': ['25:05', '21:05'], 'sessions.0.pulse_after_per_min': ['740', '74'] }, w: '71.5', s: '138', d: '80', end: '21:05', uf: '1.5', wa: '70.0' },
    { day: '07112025', iso: '2025-11-07', slips: { 'readings.1.bp_diastolic_mmhg': ['780', '78'] }, w: '71.9', s: '145', d: '84', end: '21:05', uf: '1.9', wa: '70.1' },
  ];
  for (const [i, one] of sessions.entries()) {
    await press(page, 'Treatments');
    await tabTo(page, (f) => f.name === 'day', 'the day');
    await page.keyboard.type(one.day);
    if ((await focused(page)).value !== one.iso) { // the browser has the month first
      for (let i = 0; i < 2; i++) await page.keyboard.press('Shift+Tab');
      await toField(page, 'day');
      await page.keyboard.type(one.day.slice(2, 4) + one.day.slice(0, 2) + one.day.slice(4));
    }
    await Promise.all([page.waitForNavigation(), page.keyboard.press('Enter')]);
    const fields = { 'sessions.0.status': 'done', ...before(one.w, one.s, one.d), 'sessions.0.start': '18:05', ...reading(1, '18:30', '139', '78', '300', '-150', '140', '0.3'), ...after(one.end, one.uf, one.wa, '128', '76') };
    for (const [name, [slip]] of Object.entries(one.slips)) fields[name.replace('readings.1.', 'readings.new1.')] = slip;
    await typed(page, fields);
    await save(page);
    await checked(page);
    out.titles.push(await page.title());
    out.summaries.push(await page.locator('#summary li').allTextContents());
    if ((await focused(page)).tag !== 'DIV') out.errors.push('the summary of mistakes does not have the focus');
    if (i === 0) {
      await looked(page, 'slips');
      // The first link of the summary leads to its field.
      await page.locator('#summary').focus();
      await page.keyboard.press('Tab');
      const to = await page.evaluate(() => document.activeElement.getAttribute('href'));
      await page.keyboard.press('Enter');
      if (`#${await page.evaluate(() => document.activeElement.id)}` !== to) out.errors.push(`the link of the summary does not lead to ${to}`);
      await page.evaluate(() => document.body.focus());
      await page.reload();
    }
    for (const [name, [, mended]] of Object.entries(one.slips)) await typed(page, { [name]: mended });
    await save(page);
    await checked(page);
    out.titles.push(await page.title());
  }
  await looked(page, 'session');

  // Two pages of one treatment: the second save after the conflict keeps what
  // the other page wrote.
  const other = await newPage({ storageState: await page.context().storageState() });
  await other.goto(page.url());
  await typed(other, { 'sessions.0.pulse_before_per_min': '81', 'sessions.0.notes': 'tab two' });
  await save(other);
  await typed(page, { 'sessions.0.pulse_before_per_min': '82' });
  await save(page);
  out.conflict = await page.locator('.found q').allTextContents();
  await looked(page, 'conflict');
  await save(page);
  out.kept = [await page.locator('[name="sessions.0.pulse_before_per_min"]').inputValue(), await page.locator('[name="sessions.0.notes"]').inputValue()];
  await page.goto(`${base}/month/2025-11`);
  await checked(page);
  await looked(page, 'month');
  await press(page, 'What your clinic will get');
  await checked(page);
  await page.evaluate(() => document.querySelectorAll('details').forEach((d) => { d.open = true; }));
  await looked(page, 'clinic');
  await press(page, 'Write it into a folder');
  out.folder = await page.locator('.box code').textContent();
  const [download] = await Promise.all([page.waitForEvent('download'), page.getByText('Download it as one file').click()]);
  await download.saveAs(`${log}.zip`);
  await page.goto(`${base}/measures`);
  await checked(page);
  await page.evaluate(() => document.querySelectorAll('details').forEach((d) => { d.open = true; }));
  await looked(page, 'measures');
  const dark = await newPage({ colorScheme: 'dark', locale: 'de-DE', storageState: await page.context().storageState() });
  for (const path of ['/', '/month/2025-11', '/about', '/session/2', '/clinic']) { await dark.goto(base + path); await looked(dark, `dark${path.replaceAll('/', '-')}`); }

  // Everything works with script off.
  const plain = await newPage({ javaScriptEnabled: false, storageState: await page.context().storageState() });
  await plain.goto(`${base}/session/3`);
  await plain.locator('[name="sessions.0.notes"]').fill('without script');
  await plain.getByRole('button', { name: 'Save', exact: true }).first().click();
  out.plain = await plain.locator('[name="sessions.0.notes"]').inputValue() === 'without script' && (await plain.locator('.said').first().textContent()).startsWith('Saved.');
  await Promise.all([plain.waitForNavigation(), plain.getByRole('button', { name: 'Undo the last save' }).click()]);

  // A page of another origin can neither read nor change.
  const foreign = await newPage({ storageState: await page.context().storageState() });
  out.foreign = [];
  foreign.on('response', (r) => { if (r.url().startsWith(base)) out.foreign.push(r.status()); });
  await foreign.setContent(`<form method="post" action="${base}/undo"><button>x</button></form>`);
  await Promise.all([foreign.waitForNavigation(), foreign.click('button')]);

  await press(page, 'Close');
  await looked(page, 'closed');
  await served.ended;
  out.said = served.said.split('\n').at(-2);

  // A sheet of the person's own: each column is confirmed with keys alone, and
  // the pages work on a copy.
  const own = `${dirname(log)}/nights.csv`;
  copyFileSync(new URL('../sheets/rows/nights.csv', import.meta.url), own);
  sheet = await serve(own);
  const mapped = await newPage();
  await mapped.goto(`file://${sheet.file}`);
  await mapped.waitForURL(/^http:\/\/127\.0\.0\.1:\d+\/$/);
  out.bases = [base, new URL(mapped.url()).origin];
  await looked(mapped, 'sheet');
  await tabTo(mapped, (f) => f.name === 'done', 'the box');
  await mapped.keyboard.press('Space');
  await press(mapped, 'It is right: copy it into the log');
  await mapped.goto(`${out.bases[1]}/month/2025-11`);
  await checked(mapped);
  out.copied = await mapped.locator('.said').first().textContent();
  await looked(mapped, 'copied');
} finally {
  await browser.close();
  served.process.kill('SIGINT');
  sheet?.process.kill('SIGINT');
}
console.log(JSON.stringify(out));
