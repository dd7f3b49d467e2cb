// Opens pages as a reader without network would, prints them, measures them.
import { execFileSync } from 'node:child_process';
import { readFileSync, mkdirSync, writeFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import path from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

import { findMarkup, findOverflows, findPageRule, findWithoutHeads } from './measure.mjs';

export const build = process.env.SWARDLINE_PAGES;  // packages, made seasons and screens are there
const need = createRequire(path.join(build, 'package.json'));
const { chromium } = need('playwright-core');
const checker = readFileSync(need.resolve('axe-core/axe.min.js'), 'utf8');

/// Millimetres of the two papers a sheet may be printed on (ISO 216; ANSI/ASME Y14.1).
export const papers = { A4: [210, 297], Letter: [215.9, 279.4] };
const pixels = (mm) => (mm * 96) / 25.4;

/// A fresh profile each time; nothing that calls home.
export function startBrowser() {
  return chromium.launch({
    executablePath: '/usr/bin/chromium',
    args: ['--no-sandbox', '--disable-gpu', '--disable-quic', '--no-first-run', '--disable-background-networking',
           '--disable-component-update', '--disable-sync'],
  });
}

/// Opens `file` without network. What it asks for beside itself is refused and kept in `page.left`; console errors and
/// uncaught errors are kept in `page.complaints`; dialogs count as complaints.
export async function openPage(browser, file) {
  const context = await browser.newContext({ offline: true, serviceWorkers: 'block', viewport: { width: 1280, height: 900 } });
  const page = await context.newPage();
  const itself = pathToFileURL(file).href;
  Object.assign(page, { left: [], complaints: [], file });
  const own = (url) => url.split('#')[0] === itself || /^(data|blob|about):/.test(url);
  await context.route('**/*', (route) => (own(route.request().url()) ? route.continue() : route.abort()));
  context.on('request', (request) => { if (!own(request.url())) page.left.push(request.url()); });
  page.on('websocket', (socket) => page.left.push(socket.url()));
  page.on('popup', (popup) => page.left.push(`a new window: ${popup.url()}`));
  page.on('console', (message) => { if (message.type() === 'error') page.complaints.push(message.text()); });
  page.on('pageerror', (error) => page.complaints.push(String(error)));
  page.on('dialog', (dialog) => { page.complaints.push(`dialog: ${dialog.message()}`); dialog.dismiss(); });
  await page.goto(itself, { waitUntil: 'load' });
  return page;
}

export const closePage = (page) => page.context().close();

/// Prints without fills, as browsers do unless asked. { pages, texts: one for each printed page, wide, high: mm, pdf: path }
export async function print(page, paper) {
  const pdf = artifact(page, paper, 'pdf');
  await page.emulateMedia({ media: null });
  await page.pdf({ path: pdf, format: paper, printBackground: false, preferCSSPageSize: true });
  const said = execFileSync('pdfinfo', [pdf], { encoding: 'utf8' });
  const [, wide, high] = /^Page size:\s+([\d.]+) x ([\d.]+)/m.exec(said);
  const texts = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8', maxBuffer: 1e9 }).split('\f').slice(0, -1);
  const mm = (points) => (Number(points) * 25.4) / 72;
  return { pages: Number(/^Pages:\s+(\d+)/m.exec(said)[1]), texts, wide: mm(wide), high: mm(high), pdf };
}

export const printedPages = async (page, paper) => (await print(page, paper)).pages;

/// What overflows its box on this paper; without a paper, on the screen as it is.
export async function overflows(page, paper) {
  if (!paper) return page.evaluate(findOverflows, { width: page.viewportSize().width, scrolls: true });
  const size = page.viewportSize();
  await page.emulateMedia({ media: 'print' });
  const margins = await page.evaluate(findPageRule);
  const width = pixels(papers[paper][0]) - margins.left - margins.right;
  await page.setViewportSize({ width: Math.floor(width), height: size.height });
  const found = await page.evaluate(findOverflows, { width, scrolls: false });
  await page.emulateMedia({ media: null });
  await page.setViewportSize(size);
  return found;
}

/// The paper's size that the page's style demands; empty where it takes what is in the printer.
export const demandedPaper = async (page) => (await page.evaluate(findPageRule)).size;

/// Serious and critical findings of the accessibility checker, as lines.
export async function accessibility(page) {
  await page.evaluate(checker);
  const violations = await page.evaluate(async () => (await axe.run(document, { resultTypes: ['violations'] })).violations
    .map(({ id, impact, help, nodes }) => ({ id, impact, help, where: nodes.slice(0, 3).map((n) => n.target.join(' ')), all: nodes.length })));
  const line = (v) => `${v.impact}: ${v.help} (${v.id}) at ${v.where.join(', ')}${v.all > 3 ? ` and ${v.all - 3} more` : ''}`;
  const bad = (v) => v.impact === 'serious' || v.impact === 'critical';
  return { serious: violations.filter(bad).map(line), others: violations.filter((v) => !bad(v)).map(line) };
}

/// Tables and pages that a screen reader could not name, which the checker lets pass.
export const withoutHeads = (page) => page.evaluate(findWithoutHeads);

/// Traces of text that became markup or ran; empty is well.
export const ranOrBecameMarkup = (page) => page.evaluate(findMarkup);
export const nothingRan = async (page) => (await ranOrBecameMarkup(page)).length === 0;

/// Texts of `wanted` (name -> text) that the page does not show as they stand. Marks of direction and runs of blanks
/// may be set otherwise.
export async function notShown(page, wanted) {
  const plain = (text) => text.replace(/[\u200e\u200f\u061c\u202a-\u202e\u2066-\u2069]/g, '').replace(/\s+/g, ' ').trim();
  const all = plain(await page.evaluate(() => {
    const copy = document.body.cloneNode(true);
    copy.querySelectorAll('script,style').forEach((el) => el.remove());
    return copy.textContent;
  }));
  return Object.entries(wanted).filter(([, text]) => !all.includes(plain(text))).map(([name]) => name);
}

/// Characters of the page that set the direction of all that follows them: in its text, its title and what is said
/// of its parts.
export async function turning(page) {
  return page.evaluate(() => {
    const found = [], turns = /[\u202a-\u202e\u2066-\u2069]/;
    const look = (text, where) => turns.test(text) && found.push(`${where}: ${JSON.stringify(text.slice(0, 60))}`);
    look(document.title, 'title');
    const texts = document.createTreeWalker(document.documentElement, NodeFilter.SHOW_TEXT);
    for (let node = texts.nextNode(); node; node = texts.nextNode()) look(node.data, node.parentElement.localName);
    for (const el of document.querySelectorAll('*')) for (const { name, value } of el.attributes) look(value, `${el.localName} ${name}`);
    return found;
  });
}

/// Where what is kept of a page goes: screens/<season>-<page>-<what>.
export function artifact(page, what, kind) {
  const folder = path.join(build, 'screens');
  mkdirSync(folder, { recursive: true });
  const inside = path.relative(path.join(build, 'made'), page.file).replace(/\.html$/, '').split(path.sep).filter((p) => p !== 'out');
  return path.join(folder, `${inside.join('-')}-${what}.${kind}`);
}

/// The beginning of the page on the screen: a picture of all of a long one takes longer than its tests.
export async function keepScreen(page, what = 'screen') {
  const high = await page.evaluate(() => document.documentElement.scrollHeight);
  await page.screenshot({ path: artifact(page, what, 'png'), fullPage: true, clip: { x: 0, y: 0, width: page.viewportSize().width, height: Math.min(high, 3000) } });
}

/// The first printed page in grey.
export function keepPrinted(printed) {
  execFileSync('pdftoppm', ['-gray', '-png', '-r', '80', '-f', '1', '-l', '1', '-singlefile', printed.pdf, printed.pdf.replace(/\.pdf$/, '')]);
}

export function keepText(page, what, text) {
  writeFileSync(artifact(page, what, 'txt'), text);
}

export const here = path.dirname(fileURLToPath(import.meta.url));
