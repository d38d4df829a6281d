// Opens an HTML file in Chromium and prints as JSON what a test wants to know:
// findings of axe-core, whether it scrolls sideways at 320 and 1280 pixels and
// at 200 % zoom, how many pages it prints, and every request beside the file.
//
//   node page.mjs FILE.html PRINTED.pdf [SCREEN.png]
import { createRequire } from 'node:module';
import { readFileSync } from 'node:fs';
import { pathToFileURL } from 'node:url';
import { resolve } from 'node:path';
import { chromium } from 'playwright-core';

const [file, printed, screen] = process.argv.slice(2);
const axe = readFileSync(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium', args: ['--no-sandbox'] });
try {
  const url = pathToFileURL(resolve(file)).href;
  const context = await browser.newContext({ bypassCSP: true }); // the policy of the page forbids the script of axe
  const requests = [];
  context.on('request', (request) => { if (request.url() !== url) requests.push(request.url()); });
  const page = await context.newPage();
  const errors = [];
  page.on('console', (message) => { if (message.type() === 'error') errors.push(message.text()); });
  const sideways = {};
  for (const width of [320, 640, 1280]) {
    await page.setViewportSize({ width, height: 900 });
    await page.goto(url);
    sideways[width] = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
    if (screen) await page.screenshot({ path: screen.replace(/\.png$/, `-${width}.png`), fullPage: true });
  }
  const smallest = await page.evaluate(() => Math.min(...[...document.querySelectorAll('svg.narrow')].map((svg) => Math.min(...[...svg.querySelectorAll('text')].map((t) => Number(t.getAttribute('font-size')) * 304 / svg.viewBox.baseVal.width)))));
  await page.evaluate(() => document.querySelectorAll('details').forEach((d) => { d.open = true; }));
  await page.addScriptTag({ content: axe });
  const { violations } = await page.evaluate(() => window.axe.run(document, { resultTypes: ['violations'] }));
  await page.evaluate(() => document.querySelectorAll('details').forEach((d) => { d.open = false; }));
  await page.pdf({ path: printed, preferCSSPageSize: true });
  console.log(JSON.stringify({
    violations: violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.map((n) => n.target.join(' ')).slice(0, 3).join(', ')}`),
    sideways, smallest, requests, errors,
  }));
} finally {
  await browser.close();
}
