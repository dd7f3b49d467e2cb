// out/packet/*.html, what `packet` writes: one file a site, and all.html with the sheets of all. Assumed of the markup:
//   .sheet              one printed page; no @page size, so that it fits A4 and Letter as they lie in the printer
//   .sheet .code        the site's code in the sheet's top line, which also says "page 1 of 2"
//   .sheet svg.map      the map; its texts .order and .name are the plots' labels, which must not cover one another
//   .sheet table.plots  the plots in walking order; a row holds decimal degrees of five places and degrees with minutes
//                       of three, latitude before longitude
// Files whose name begins with "card" are identification cards: held to all of it but what is said of sheets of a site.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync, readdirSync, rmSync } from 'node:fs';
import path from 'node:path';

export const command = 'packet';
const html = (folder) => {
  const packet = path.join(folder, 'out/packet');
  return existsSync(packet) ? readdirSync(packet).filter((n) => n.endsWith('.html')).sort().map((n) => path.join(packet, n)) : [];
};
// All sheets, the cards, and the sites on their own that differ most: a window of twelve days, a verge, the most plots.
export const pages = (folder) => {
  const apart = ['ANL', 'PEL', 'HDR'].map((code) => `${code}.html`);
  const files = html(folder);
  return files.filter((f) => isCard(f) || path.basename(f) === 'all.html' || apart.includes(path.basename(f)) || files.length < 6);
};
// Long names are cut on sheets, which have no room; what is left must be text all the same.
export const shows = () => [];

const isCard = (file) => path.basename(file).startsWith('card');
const squeezed = (text) => text.replace(/\s+/g, '');
const sheetsOf = (page) => page.$$eval('.sheet', (all) => all.map((sheet) => ({
  code: sheet.querySelector('.code')?.textContent.trim() ?? '',
  head: (sheet.querySelector('header') ?? sheet).textContent,
  text: sheet.textContent,
})));

export const checks = [
  ['every sheet is exactly one page, on A4 and on Letter', async ({ page, printed, file }) => {
    const sheets = await sheetsOf(page);
    assert.ok(sheets.length > 0, 'no .sheet in the file');
    for (const [paper, print] of Object.entries(printed)) {
      assert.equal(print.pages, sheets.length, `${sheets.length} sheets print to ${print.pages} pages of ${paper}`);
      if (isCard(file)) continue;
      sheets.forEach(({ code, head }, at) => {
        const number = /page\s+\d+\s+of\s+\d+/.exec(head);
        assert.ok(code && number, `sheet ${at + 1} does not say whose it is and which page: ${head}`);
        for (const wanted of [code, number[0]])
          assert.ok(squeezed(print.texts[at]).includes(squeezed(wanted)), `page ${at + 1} of ${paper} is not ${code}, ${wanted}`);
      });
    }
  }],
  ['black, white and grey only; type never under 7 points', async ({ page }) => {
    await page.emulateMedia({ media: 'print' });
    const wrong = await page.evaluate(() => {
      const found = new Set();
      const grey = (colour) => {
        const [r, g, b, a = 1] = (/rgba?\(([^)]*)\)/.exec(colour)?.[1] ?? '0,0,0').split(/[ ,/]+/).map(Number);
        return a === 0 || (r === g && g === b);
      };
      for (const el of document.querySelectorAll('.sheet, .sheet *')) {
        const style = getComputedStyle(el);
        for (const key of ['color', 'backgroundColor', 'borderTopColor', 'borderBottomColor', 'fill', 'stroke'])
          if (!grey(style[key])) found.add(`${el.localName}.${el.getAttribute('class')}: ${key} ${style[key]}`);
        const own = [...el.childNodes].some((n) => n.nodeType === Node.TEXT_NODE && n.data.trim());
        if (!own || ['title', 'desc', 'style'].includes(el.localName)) continue;
        const matrix = el.ownerSVGElement ? el.getScreenCTM() : null;
        const points = parseFloat(style.fontSize) * (matrix ? Math.hypot(matrix.a, matrix.b) : 1) * 0.75;
        if (points < 7) found.add(`${el.localName}.${el.getAttribute('class')}: ${points.toFixed(1)} points, "${el.textContent.slice(0, 30)}"`);
      }
      return [...found];
    });
    await page.emulateMedia({ media: null });
    assert.deepEqual(wrong.slice(0, 10), []);
  }],
  ['labels of plots do not cover one another', async ({ page }) => {
    const covered = await page.$$eval('.sheet svg.map', (maps) => maps.flatMap((map) => {
      // The box of a text is taller than its letters: a quarter of the smaller one may be shared.
      const boxes = [...map.querySelectorAll('text.order, text.name')].map((el) => [el.textContent, el.getBoundingClientRect()]);
      return boxes.flatMap(([a, p], i) => boxes.slice(i + 1).filter(([, q]) => {
        const x = Math.min(p.right, q.right) - Math.max(p.left, q.left), y = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
        return x > 0 && y > 0 && x * y > 0.25 * Math.min(p.width * p.height, q.width * q.height);
      }).map(([b]) => `${a} | ${b}`));
    }));
    assert.deepEqual(covered, []);
  }],
  ['degrees with minutes are the decimal degrees beside them', async ({ page, file }) => {
    if (isCard(file)) return;
    const rows = await page.$$eval('.sheet table.plots tbody tr', (all) => all.map((row) => [...row.cells].map((c) => c.textContent).join(' ')));
    let seen = 0;
    for (const row of rows) {
      const degrees = [...row.matchAll(/(?<![\d.])-?\d{1,3}\.\d{5}(?!\d)/g)].map((m) => Math.abs(Number(m[0])));
      const minutes = [...row.matchAll(/(?<![\d.])(\d{1,3})[ °]+(\d{2}\.\d{3})(?!\d)/g)].map((m) => Number(m[1]) + Number(m[2]) / 60);
      if (degrees.length < 2) continue;
      seen += 1;
      assert.ok(minutes.length >= 2, `no degrees with minutes: ${row}`);
      // Half of the last place of one and all of the other's: some notations are cut, not rounded.
      for (const at of [0, 1]) assert.ok(Math.abs(degrees[at] - minutes[at]) < 1.1e-5 + 0.001 / 60, row);
    }
    assert.ok(seen > 0, 'no row with decimal degrees');
  }],
  ['cautions everyone needs, and nobody\'s name', async ({ page, file }) => {
    if (isCard(file)) return;
    for (const { code, text } of await sheetsOf(page)) {
      assert.match(text, /never taste/i, code);
      assert.match(text, /\[coordinator writes in\]/, code);
      assert.doesNotMatch(text, /N\. Body/, code);
    }
  }],
  ['the square code on the printed page is the number beside it', async ({ page, file, printed }) => {
    if (isCard(file) || path.basename(file) === 'all.html') return;
    const numbers = await page.$$eval('.sheet .foot', (all) => all.map((foot) => [foot.querySelector('b').textContent, foot.querySelector('svg') !== null]));
    for (const [at, [number, coded]] of numbers.entries()) {
      assert.match(number, /-\d+[A-Z]*-[0-9A-F]{6}$|…$/);
      if (!coded) continue;
      // As a photocopier or a phone sees it: 150 dots an inch, grey. Another library than the one that drew it reads it.
      const picture = printed.A4.pdf.replace(/\.pdf$/, `-${at + 1}-code`);
      execFileSync('pdftoppm', ['-gray', '-png', '-r', '150', '-f', `${at + 1}`, '-l', `${at + 1}`, '-singlefile', printed.A4.pdf, picture]);
      const read = execFileSync('zbarimg', ['-q', '--raw', '-Sdisable', '-Sqrcode.enable', `${picture}.png`], { encoding: 'utf8' }).trim();
      rmSync(`${picture}.png`);
      if (!number.endsWith('…')) assert.equal(read, number);
    }
    if (file.includes('ANL')) assert.ok(numbers.every(([, coded]) => coded), 'a sheet without its square code');
  }],
  ['all.html holds the sheets of all sites; a known season has its visit', async ({ page, file, folder, hostile }) => {
    if (path.basename(file) !== 'all.html') return;
    const sheets = await sheetsOf(page);
    const others = html(folder).filter((f) => f !== file && !isCard(f));
    const apart = others.map((f) => readFileSync(f, 'utf8').match(/<\w+ class="sheet[ "]/g)?.length ?? 0);
    assert.equal(sheets.length, apart.reduce((sum, n) => sum + n, 0), 'other sheets than the files of single sites');
    if (hostile) return;
    // One window suits all species of the meadow.
    const heads = (code) => sheets.filter((s) => s.code === code).map((s) => s.head.replace(/\s+/g, ' '));
    assert.ok(heads('ANL').length > 0 && heads('ANL').every((h) => /visit 1 of 1: 20.{1,8}31 May/.test(h)), heads('ANL').join('\n'));
  }],
];
