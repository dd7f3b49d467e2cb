// out/report.html, what `report` writes: tables sort, maps tell a plot's record by pointer and by keyboard.
import assert from 'node:assert/strict';
import path from 'node:path';

export const command = 'report';
export const pages = (folder) => [path.join(folder, 'out/report.html')];
export const shows = ['plan', 'site', 'long site', 'unbroken site', 'common', 'long common', 'reason'];

const column = (page, at) => page.$$eval('#effort table.sorts tbody tr', (rows, cell) => rows.map((r) => r.cells[cell].textContent), at);
const head = (page, name) => page.locator('#effort table.sorts thead th', { has: page.getByRole('button', { name, exact: true }) });
const record = (page, figure) => figure.locator('.record');

export const checks = [
  ['a table sorts by pointer and by keyboard, and says so', async ({ page }) => {
    const due = head(page, 'Due');
    await due.getByRole('button').click();
    assert.equal(await due.getAttribute('aria-sort'), 'ascending');
    const rising = (await column(page, 2)).map(Number);
    assert.ok(rising.length > 1);
    assert.deepEqual(rising, [...rising].sort((a, b) => a - b));
    await due.getByRole('button').focus();
    await page.keyboard.press('Enter');
    assert.equal(await due.getAttribute('aria-sort'), 'descending');
    assert.deepEqual((await column(page, 2)).map(Number), [...rising].sort((a, b) => b - a));
    const site = head(page, 'Site');
    await site.getByRole('button').focus();
    await page.keyboard.press('Space');
    assert.equal(await site.getAttribute('aria-sort'), 'ascending');
    assert.equal(await due.getAttribute('aria-sort'), null);
    const sites = await column(page, 0);
    assert.deepEqual(sites, [...sites].sort((a, b) => a.localeCompare(b, 'en', { numeric: true })));
    assert.match(await page.locator('p.unseen[role=status]').textContent(), /Effort by site: sorted by Site, rising/);
  }],
  ['a plot under the pointer tells its record', async ({ page }) => {
    const figure = page.locator('figure.site').first();
    const mark = figure.locator('.plot-mark').nth(1);
    const name = (await mark.getAttribute('aria-label')).split(':')[0];
    await mark.locator('circle, path').first().hover({ force: true });
    const shown = await record(page, figure).textContent();
    assert.ok(shown.startsWith(name), shown);
    for (const word of ['Stratum', 'Score', 'Status']) assert.ok(shown.includes(word), shown);
    await page.mouse.move(0, 0);
    assert.match(await record(page, figure).textContent(), /Point at a plot/);
  }],
  ['one stop for Tab, arrows from plot to plot, Escape puts the record away', async ({ page }) => {
    const figure = page.locator('figure.site').first();
    const marks = figure.locator('.plot-mark');
    const all = await marks.count();
    assert.equal(await figure.locator('.plot-mark[tabindex="0"]').count(), 1);
    await marks.first().focus();
    const label = async () => (await page.evaluate(() => document.activeElement.getAttribute('aria-label'))).split(':')[0];
    const told = async () => (await record(page, figure).locator('h4').textContent());
    assert.equal(await told(), await label());
    const first = await label();
    await page.keyboard.press('ArrowRight');
    assert.notEqual(await label(), first);
    assert.equal(await told(), await label());
    await page.keyboard.press('End');
    assert.equal(await label(), (await marks.nth(all - 1).getAttribute('aria-label')).split(':')[0]);
    await page.keyboard.press('ArrowRight');
    assert.equal(await label(), first);
    assert.equal(await figure.locator('.plot-mark[tabindex="0"]').count(), 1);
    await page.keyboard.press('Escape');
    assert.equal(await record(page, figure).locator('h4').count(), 0);
    await page.keyboard.press('Enter');
    assert.equal(await told(), first);
    await page.keyboard.press('Tab');
    assert.equal(await page.evaluate(() => document.activeElement.closest('.plot-mark')), null);
  }],
  ['all of it is there without the script', async ({ page, file }) => {
    const context = await page.context().browser().newContext({ javaScriptEnabled: false, offline: true });
    const plain = await context.newPage();
    await plain.goto(`file://${file}`);
    assert.equal(await plain.locator('th button').count(), 0);
    assert.equal(await plain.locator('.plot-mark[role]').count(), 0);
    assert.ok(await plain.locator('.plot-mark title').count() > 0);
    const details = plain.locator('figure.site details').first();
    await details.locator('summary').click();
    assert.ok(await details.locator('tbody tr').first().isVisible());
    await context.close();
  }],
  ['paper has what fits on it: no fold, the head of long tables as they are sorted, and where the rest is', async ({ page, printed, hostile }) => {
    if (!hostile) assert.ok(printed.A4.pages <= 15, `${printed.A4.pages} sheets of A4`);
    const cut = page.locator('table[class*="first-"]').first();
    const shown = () => cut.locator('tbody tr:visible').evaluateAll((rows) => rows.map((row) => row.textContent));
    const all = await shown();
    await page.emulateMedia({ media: 'print' });
    try {
      assert.equal(await page.locator('summary:visible, details :visible, th button:visible >> text="↕"').count(), 0);
      assert.equal(await page.locator('#found table:visible').count(), 1);
      if (!hostile) {
        const few = await shown();
        assert.ok(few.length < all.length);
        assert.deepEqual(few, all.slice(0, few.length));
        const note = await cut.locator('xpath=following-sibling::p[@class="on-paper"]').textContent();
        assert.match(note, new RegExp(`^${all.length - few.length} more rows: in the page on screen, and in \\S+\\.$`));
      }
      const sites = await page.locator('figure.site svg.ground').evaluateAll((maps) => maps.map((map) => map.getBoundingClientRect().height));
      assert.ok(sites.every((high) => high > 40), `${sites}`);
    } finally {
      await page.emulateMedia({ media: null });
    }
    assert.equal(await page.locator('.on-paper:visible').count(), 0);
    assert.deepEqual(await shown(), all);
  }],
  ['no text of the page has a contrast under 7 to 1', async ({ page }) => {
    const found = await page.evaluate(async () => (await axe.run(document, { runOnly: ['color-contrast-enhanced'] })).violations
      .flatMap((v) => v.nodes.map((n) => n.target.join(' '))));
    assert.deepEqual(found.slice(0, 5), []);
  }],
];
