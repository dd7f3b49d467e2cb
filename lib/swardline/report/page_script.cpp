#include "swardline/report/page_script.hpp"

namespace swardline {

const char* const page_script = R"js(
(function () {
"use strict";
const make = (name, kind, text) => {
  const element = document.createElement(name);
  if (kind) element.className = kind;
  if (text) element.textContent = text;
  return element;
};
const said = make("p", "unseen");
said.setAttribute("role", "status");
document.body.appendChild(said);

const number = (text) => {
  const found = text.replace(/[,\s]/g, "").replace(/\u2212/g, "-").match(/-?\d+(\.\d+)?/);
  return found === null ? null : Number(found[0]);
};
const order = (a, b) => {
  if (a.key === null) return b.key === null ? 0 : 1;
  if (b.key === null) return -1;
  return typeof a.key === "number" ? a.key - b.key : a.key.localeCompare(b.key, "en", {numeric: true});
};
const sort = (table, heads, column) => {
  const head = heads[column], falling = head.getAttribute("aria-sort") === "ascending";
  const counts = head.classList.contains("number");
  const rows = Array.from(table.tBodies[0].rows).map((row) => {
    const text = row.cells[column].textContent.trim();
    return {row: row, key: counts ? number(text) : text === "" ? null : text};
  });
  rows.sort((a, b) => falling ? (a.key === null || b.key === null ? order(a, b) : order(b, a)) : order(a, b));
  for (const other of heads) other.removeAttribute("aria-sort");
  head.setAttribute("aria-sort", falling ? "descending" : "ascending");
  for (const one of rows) table.tBodies[0].appendChild(one.row);
  said.textContent = table.caption.textContent + ": sorted by " + head.textContent.trim() + (falling ? ", falling" : ", rising");
};
for (const table of document.querySelectorAll("table.sorts")) {
  const heads = Array.from(table.tHead.rows[0].cells);
  heads.forEach((head, column) => {
    const button = make("button", "", head.textContent);
    button.type = "button";
    head.textContent = "";
    head.appendChild(button);
    button.addEventListener("click", () => sort(table, heads, column));
  });
}

const tell = (panel, mark) => {
  panel.textContent = "";
  const row = document.getElementById(mark.dataset.plot);
  if (row === null) return;
  const heads = row.closest("table").tHead.rows[0].cells;
  panel.appendChild(make("h4", "", row.cells[0].textContent));
  const list = make("dl");
  Array.from(row.cells).forEach((cell, column) => {
    if (column === 0 || cell.textContent === "") return;
    list.appendChild(make("dt", "", heads[column].textContent));
    list.appendChild(make("dd", "", cell.textContent));
  });
  panel.appendChild(list);
};
for (const figure of document.querySelectorAll("figure.site")) {
  const marks = Array.from(figure.querySelectorAll("[data-plot]"));
  if (marks.length === 0) continue;
  const rest = "Point at a plot, or go there by Tab and the arrow keys; Escape puts its record away.";
  const panel = make("div", "record");
  panel.setAttribute("role", "status");
  panel.appendChild(make("p", "rest", rest));
  figure.querySelector(".drawn").appendChild(panel);
  let shown = null, held = null;
  const show = (mark) => {
    if (shown === mark) return;
    if (shown) shown.classList.remove("shown");
    shown = mark;
    panel.classList.toggle("told", mark !== null);
    if (mark) {
      mark.classList.add("shown");
      tell(panel, mark);
    } else {
      panel.textContent = "";
      panel.appendChild(make("p", "rest", rest));
    }
  };
  const go = (to) => {
    for (const mark of marks) mark.setAttribute("tabindex", mark === to ? "0" : "-1");
    to.focus();
  };
  marks.forEach((mark, i) => {
    const title = mark.querySelector("title");
    mark.setAttribute("role", "button");
    mark.setAttribute("tabindex", i === 0 ? "0" : "-1");
    if (title) {
      mark.setAttribute("aria-label", title.textContent);
      title.remove();
    }
    mark.addEventListener("pointerenter", () => show(mark));
    mark.addEventListener("pointerleave", () => show(held));
    mark.addEventListener("focus", () => { held = mark; show(mark); });
    mark.addEventListener("blur", () => { held = null; show(null); });
    mark.addEventListener("click", () => go(mark));
    mark.addEventListener("keydown", (event) => {
      const step = {ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1}[event.key];
      if (step) go(marks[(i + step + marks.length) % marks.length]);
      else if (event.key === "Home") go(marks[0]);
      else if (event.key === "End") go(marks[marks.length - 1]);
      else if (event.key === "Enter" || event.key === " ") { shown = null; held = mark; show(mark); }
      else if (event.key === "Escape") { held = null; show(null); }
      else return;
      event.preventDefault();
    });
  });
}
})();
)js";

const char* const page_script_sha256 = "frM1ba7gC7Pg7WwTKDQbtRMaC+rQS4u6PA/zGV7JPj4=";

}  // namespace swardline
