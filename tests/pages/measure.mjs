// What is measured inside a page. These functions run in the browser: nothing outside them is seen there.

/// Text, pictures and tables that lie outside a box they belong to, in the state the page is in.
/// HTML text against each block around it and the page's width; SVG text against its drawing and against the
/// first shape of a group marked `data-box`; children (in SVG: texts) of what is marked `data-apart` against each other.
/// On paper nothing scrolls; on the screen what scrolls sideways, and can be reached by keyboard, may be wider.
export function findOverflows({ width: pageWidth, scrolls }) {
  const found = [];
  const slack = 1;  // browsers round to whole pixels
  const named = (el) => {
    const classes = (el.getAttribute('class') || '').split(/\s+/).filter(Boolean);
    return el.localName + (el.id ? '#' + el.id : '') + classes.map((c) => '.' + c).join('');
  };
  const report = (what, text, box, by) =>
    found.push({ what, text: text.trim().replace(/\s+/g, ' ').slice(0, 60), box, by: Math.round(by * 10) / 10 });
  const beyond = (inner, outer) => Math.max(outer.left - inner.left, inner.right - outer.right);
  const above = (inner, outer) => Math.max(outer.top - inner.top, inner.bottom - outer.bottom);
  // Said to screen readers, not shown.
  const unseen = (el) => {
    // What is folded away keeps its boxes.
    const folded = el.closest('details:not([open])');
    if (folded && !folded.querySelector('summary')?.contains(el)) return true;
    for (let e = el; e && e !== document.body; e = e.parentElement) {
      const box = e.getBoundingClientRect(), style = getComputedStyle(e);
      if (style.visibility === 'hidden' || style.display === 'none') return true;
      if (box.width <= 1.5 && box.height <= 1.5 && style.overflow !== 'visible') return true;
    }
    return false;
  };
  // The blocks that a box must lie in, innermost first.
  const around = function* (el) {
    let outOfFlow = false, spans = false;
    for (let e = el; e && e !== document.body; e = e.parentElement) {
      const style = getComputedStyle(e);
      // A cell over several rows is larger than the row it is written in.
      const holds = !['inline', 'contents', 'none'].includes(style.display) && !(spans && e.localName === 'tr');
      spans = e.rowSpan > 1 || (spans && e.localName !== 'tr');
      if (holds && (!outOfFlow || style.position !== 'static')) {
        outOfFlow = false;
        yield [e, style];
      }
      if (style.position === 'absolute' || style.position === 'fixed') outOfFlow = true;
    }
  };
  const page = { left: 0, right: pageWidth };
  const check = (what, text, rect, el, lineHeight) => {
    // Letters are taller than a tight line; that is no overflow.
    const tall = Math.max(0, (rect.height - lineHeight) / 2) + slack;
    for (const [box, style] of around(el)) {
      const outer = box.getBoundingClientRect();
      if (scrolls && style.overflowX === 'auto' && box.tabIndex === 0) return;
      const x = beyond(rect, outer), y = lineHeight < Infinity ? above(rect, outer) : 0;
      if (x > slack || y > tall) return report(what, text, named(box), Math.max(x, y));
    }
    if (beyond(rect, page) > slack) report(what, text, 'page', beyond(rect, page));
  };

  const texts = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node = texts.nextNode(); node; node = texts.nextNode()) {
    const el = node.parentElement;
    if (!node.data.trim() || el.closest('svg,script,style,noscript,template,title') || unseen(el)) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    const style = getComputedStyle(el);
    const line = parseFloat(style.lineHeight) || parseFloat(style.fontSize) * 1.2;
    const before = found.length;
    for (const rect of range.getClientRects()) {
      if (rect.width > 0 && found.length === before) check('text', node.data, rect, el, line);
    }
  }
  for (const el of document.querySelectorAll('body img, body svg, body table, body input, body textarea')) {
    if (el.ownerSVGElement || unseen(el)) continue;
    const rect = el.getBoundingClientRect();
    if (rect.width > 0 && el.parentElement) check(el.localName, '', rect, el.parentElement, Infinity);
  }
  // Fields and boxes that scroll: paper does not.
  for (const el of document.querySelectorAll('body *')) {
    const style = getComputedStyle(el);
    if (el.closest('svg') || style.display.startsWith('inline') && style.display !== 'inline-block' || unseen(el)) continue;
    if (scrolls && style.overflowX === 'auto' && el.tabIndex === 0) continue;
    if (style.overflowX === 'visible' && style.overflowY === 'visible') continue;
    const x = el.scrollWidth - el.clientWidth, y = el.scrollHeight - el.clientHeight;
    if (el.clientWidth > 0 && (x > slack || y > slack)) report('box', el.textContent, named(el), Math.max(x, y));
  }
  for (const text of document.querySelectorAll('svg text')) {
    const rect = text.getBoundingClientRect();
    if (rect.width === 0 || !text.textContent.trim() || text.closest('defs,pattern,symbol') || unseen(text)) continue;
    const svg = text.closest('svg'), outer = svg.getBoundingClientRect();
    const by = Math.max(beyond(rect, outer), above(rect, outer));
    if (by > slack) report('drawn text', text.textContent, named(svg), by);
    const boxed = text.closest('g[data-box]');
    const shape = boxed && boxed.querySelector('rect,circle,ellipse,polygon,path');
    if (!shape) continue;
    const inner = shape.getBoundingClientRect(), out = Math.max(beyond(rect, inner), above(rect, inner));
    if (out > slack) report('drawn text', text.textContent, named(boxed), out);
  }
  for (const group of document.querySelectorAll('[data-apart]')) {
    const inside = group.closest('svg') ? [...group.querySelectorAll('text')] : [...group.children];
    const boxes = inside.map((el) => [el, el.getBoundingClientRect()]).filter(([, r]) => r.width > 0);
    boxes.forEach(([a, p], i) => boxes.slice(i + 1).forEach(([b, q]) => {
      const x = Math.min(p.right, q.right) - Math.max(p.left, q.left);
      const y = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
      if (x > slack && y > slack)
        report('overlap', `${a.textContent.trim().slice(0, 25)} | ${b.textContent.trim().slice(0, 25)}`, named(group), Math.min(x, y));
    }));
  }
  return found;
}

/// Left and right margin of printed pages in CSS pixels, and the paper's size where the page demands one.
export function findPageRule() {
  const margins = { left: 0, right: 0, size: '' };
  const pixels = (text) => {
    const [, number, unit] = /^([\d.]+)(\w*)$/.exec(text || '') || [, 0, ''];
    return Number(number) * ({ mm: 96 / 25.4, cm: 96 / 2.54, in: 96, pt: 96 / 72, px: 1 }[unit] || 0);
  };
  const look = (rules) => {
    for (const rule of rules) {
      if (rule instanceof CSSMediaRule && matchMedia(rule.conditionText).matches) look(rule.cssRules);
      if (!(rule instanceof CSSPageRule) || rule.selectorText) continue;
      if (rule.style.marginLeft) margins.left = pixels(rule.style.marginLeft);
      if (rule.style.marginRight) margins.right = pixels(rule.style.marginRight);
      if (rule.style.getPropertyValue('size')) margins.size = rule.style.getPropertyValue('size');
    }
  };
  for (const sheet of document.styleSheets) look(sheet.cssRules);
  return margins;
}

/// What text that became markup would have left behind.
export function findMarkup() {
  const found = [];
  if (window.__ran !== undefined) found.push('a script in a text has run');
  for (const el of document.querySelectorAll('*')) {
    for (const { name, value } of el.attributes) {
      if (/^on/i.test(name)) found.push(`<${el.localName} ${name}>`);
      if (/^(href|src|action|xlink:href)$/i.test(name) && /^\s*javascript:/i.test(value)) found.push(`${name}=${value}`);
    }
  }
  for (const script of document.querySelectorAll('script'))
    if (/^\s*window\.__ran/.test(script.textContent)) found.push('a script element made of text');
  for (const img of document.querySelectorAll('img')) if (img.getAttribute('src') === 'x') found.push('an img element made of text');
  // A text that closed the title would leave two.
  if (document.querySelectorAll('head > title').length !== 1) found.push('more than one title');
  return found;
}

/// Tables whose columns or rows have no th; a page without a first heading, or with two.
export function findWithoutHeads() {
  const found = [];
  for (const table of document.querySelectorAll('table:not([role=presentation]):not([role=none])')) {
    const what = `table "${table.textContent.trim().replace(/\s+/g, ' ').slice(0, 40)}"`;
    if (!table.querySelector('thead th[scope=col]')) found.push(`${what}: no th for its columns`);
    const bare = [...table.querySelectorAll('thead td')].filter((cell) => cell.textContent.trim());
    if (bare.length > 0) found.push(`${what}: "${bare[0].textContent.trim().slice(0, 30)}" is no th`);
  }
  const firsts = document.querySelectorAll('h1').length;
  if (firsts !== 1) found.push(`${firsts} first headings`);
  return found;
}
