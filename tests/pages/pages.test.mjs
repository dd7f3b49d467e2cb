// Every page of every season, held to what all pages are held to and to what its own case adds.
// Cases: cases/<name>.mjs exports
//   command      the command that writes the pages; without it in the tool the case is skipped, and says so
//   pages        (season folder) -> files; a case without a file fails
//   shows        names of hostile texts (make_pages.py, TEXTS) that each page of the hostile season must show; here a
//                function (file, texts) -> names may stand too
//   checks       [name, ({ page, folder, hostile, file, printed }) => …]: further checks, which throw; `printed` has A4 and Letter
import assert from 'node:assert/strict';
import { readFileSync, readdirSync } from 'node:fs';
import path from 'node:path';
import test, { after } from 'node:test';

import * as harness from './harness.mjs';

const made = JSON.parse(readFileSync(path.join(harness.build, 'made/made.json'), 'utf8'));
const wanted = process.env.SWARDLINE_PAGES_CASES?.split(',');
const list = (items) => items.map((i) => `\n  ${typeof i === 'string' ? i : JSON.stringify(i)}`).join('');
/// Fails with the first of `items`; without the test runner's trail, which says nothing about a page.
function none(items, what) {
  if (items.length > 0) throw Object.assign(new Error(), { stack: `${items.length} ${what}:${list(items.slice(0, 12))}` });
}

const browser = await harness.startBrowser();
after(() => browser.close());

async function common(t, { page, season, module, file }) {
  const printed = {};
  await t.test('no serious finding of the accessibility checker', async () => {
    const found = await harness.accessibility(page);
    harness.keepText(page, 'accessibility', [...found.serious, ...found.others].join('\n') + '\n');
    none(found.serious, 'serious findings');
  });
  await t.test('tables have heads, the page one first heading', async () => none(await harness.withoutHeads(page), 'without a head'));
  await t.test('nothing is wider than the window', async () => none(await harness.overflows(page), 'overflows on the screen'));
  for (const paper of Object.keys(harness.papers)) {
    await t.test(`prints on ${paper}, no text beyond its box`, async () => {
      assert.equal(await harness.demandedPaper(page), '', 'the style demands a paper: who has another gets it scaled');
      none(await harness.overflows(page, paper), `overflows on ${paper}`);
      printed[paper] = await harness.print(page, paper);
      const [wide, high] = harness.papers[paper];
      assert.ok(Math.abs(printed[paper].wide - wide) < 1 && Math.abs(printed[paper].high - high) < 1, 'printed on another paper');
      harness.keepPrinted(printed[paper]);
    });
  }
  if (season.hostile) {
    await t.test('hostile text is text', async () => {
      none(await harness.ranOrBecameMarkup(page), 'traces of text that became markup');
      none(await harness.turning(page), 'characters that turn the text after them');
      const names = typeof module.shows === 'function' ? module.shows(file, made.texts) : module.shows;
      none(await harness.notShown(page, Object.fromEntries(names.map((n) => [n, made.texts[n]]))), 'texts not shown as they stand');
    });
  }
  return printed;
}

async function visit(t, season, name, module, file) {
  const page = await harness.openPage(browser, file);
  try {
    await harness.keepScreen(page);
    const printed = await common(t, { page, season, module, file });
    for (const [what, check] of module.checks ?? [])
      await t.test(what, () => check({ page, printed, file, folder: season.folder, hostile: season.hostile, harness }));
    // Last, so that what the checks stirred up counts.
    await t.test('no error, no request', () => {
      none([...page.left.map((url) => `asked for ${url}`), ...page.complaints], 'requests that leave the file, or errors in the console');
    });
    if (season.hostile) await t.test('nothing has run', async () => none(await harness.ranOrBecameMarkup(page), 'traces'));
  } finally {
    await harness.closePage(page);
  }
}

const planned = [];
for (const entry of readdirSync(path.join(harness.here, 'cases')).sort()) {
  const name = entry.replace(/\.mjs$/, '');
  if (!entry.endsWith('.mjs') || (wanted && !wanted.includes(name))) continue;
  const module = await import(`./cases/${entry}`);
  for (const [key, season] of Object.entries(made.seasons)) {
    if (!made.commands.includes(module.command)) {
      const why = `SKIPPED: the tool has no command ${module.command}`;
      planned.push([`${name}, ${key}: ${why}`, { skip: why }, () => {}]);
      continue;
    }
    const files = module.pages(season.folder);
    planned.push([`${name}, ${key}: ${module.command} has written pages`, {}, () => assert.ok(files.length > 0, 'no page found')]);
    for (const file of files)
      planned.push([`${name}, ${key}: ${path.relative(season.folder, file)}`, {}, (t) => visit(t, season, name, module, file)]);
  }
}
// Two pages at a time: the browser has a process for each.
test('pages', { concurrency: 2 }, (t) => Promise.all(planned.map((one) => t.test(...one))));
