// SPDX-License-Identifier: AGPL-3.0-or-later
// Filter, page jump and keys of the report.  Everything is on the page without it.
(() => {
"use strict";
const one = (css, from = document) => from.querySelector(css);
const all = (css, from = document) => [...from.querySelectorAll(css)];
const parse = (text) => text.split(" ").filter(Boolean).map((run) => run.split("-").map(Number)).map(([a, b]) => [a, b ?? a]);
const within = (page, runs) => runs.some(([a, b]) => page >= a && page <= b);

const causes = all("article.cause").map((element) => ({
  element, number: element.dataset.c, severity: element.dataset.s, check: element.dataset.k,
  on: parse(element.dataset.on), head: one("h3", element),
}));
const sheet = one("#leaves");
const cells = sheet ? all("[data-p]", sheet) : [];
const byName = new Map();
for (const cell of cells) {
  if (cell.dataset.f && !byName.has(cell.dataset.f.toLowerCase())) byName.set(cell.dataset.f.toLowerCase(), +cell.dataset.p);
}
const last = cells.length;

// "41" is a page of the PDF; anything else is what is printed on one
function pageOf(word) {
  if (/^\d+$/.test(word)) return +word >= 1 && +word <= last ? +word : null;
  return byName.get(word.toLowerCase()) ?? null;
}

// "5-28, xii" as runs; the words that name no page apart
function asked(text) {
  const runs = [], unknown = [];
  for (const word of text.split(/[,;\s]+/).filter(Boolean)) {
    const whole = pageOf(word);
    const [a, b] = word.split(/[-–]/).map(pageOf);
    if (whole !== null) runs.push([whole, whole]);
    else if (a && b) runs.push([Math.min(a, b), Math.max(a, b)]);
    else unknown.push(word);
  }
  return { runs, unknown };
}

const bar = one("#filter");
const says = one("#filter-says");
const field = { check: one("#f-check"), pages: one("#f-pages") };
const ticks = all('input[name="severity"]');

function apply() {
  const severities = new Set(ticks.filter((tick) => tick.checked).map((tick) => tick.value));
  const { runs, unknown } = asked(field.pages.value);
  const byPage = field.pages.value.trim() !== "";
  const check = field.check.value;
  const active = severities.size < ticks.length || byPage || check !== "";
  const shown = new Set(), on = new Set();
  for (const cause of causes) {
    const touches = !byPage || cause.on.some(([a, b]) => runs.some(([c, d]) => a <= d && c <= b));
    const stays = severities.has(cause.severity) && (!check || cause.check === check) && touches;
    cause.element.hidden = !stays;
    if (!stays) continue;
    shown.add(cause.number);
    for (const [a, b] of cause.on) for (let page = a; page <= b; page++) if (!byPage || within(page, runs)) on.add(page);
  }
  for (const cell of cells) cell.hidden = active && !on.has(+cell.dataset.p);
  for (const spread of sheet ? all("li", sheet) : []) spread.hidden = active && all("[data-p]", spread).every((c) => c.hidden);
  for (const row of all("#page-list > li")) {
    row.hidden = active && !on.has(+row.id.slice(1));
    if (!row.hidden) for (const entry of all("[data-c]", row)) entry.hidden = !shown.has(entry.dataset.c);
  }
  one("#f-clear").disabled = !active;
  rove();
  says.textContent = (unknown.length ? `There is no page ${unknown.join(", ")}. ` : "") + (active
    ? `${shown.size} of ${causes.length} causes shown, on ${on.size} ${on.size === 1 ? "page" : "pages"}.`
    : `All ${causes.length} causes shown.`);
}

function clear() {
  for (const tick of ticks) tick.checked = true;
  field.check.value = "";
  field.pages.value = "";
  apply();
}

// one stop of the Tab key for the whole contact sheet; arrows go on from there
const visible = () => cells.filter((cell) => !cell.hidden);
function rove(to) {
  const shown = visible();
  const target = to ?? shown.find((cell) => cell.tabIndex === 0 && cell.dataset.held) ?? shown[0];
  for (const cell of cells) { if (cell.dataset.held) { cell.tabIndex = -1; delete cell.dataset.held; } }
  if (target) { target.tabIndex = 0; target.dataset.held = "1"; }
}
function enter(cell) {
  if (!cell) return;
  rove(cell);
  cell.scrollIntoView({ block: "center" });
  cell.focus({ preventScroll: true });
}
function below(shown, from, way) {
  const here = shown[from].getBoundingClientRect();
  let best = null, far = Infinity, row = null;
  for (let n = from + way; n >= 0 && n < shown.length; n += way) {
    const box = shown[n].getBoundingClientRect();
    if ((box.top - here.top) * way < 4) continue;
    row ??= box.top;
    if (Math.abs(box.top - row) > 4) break;
    const off = Math.abs(box.left - here.left);
    if (off < far) { far = off; best = shown[n]; }
  }
  return best;
}
function walk(event) {
  const shown = visible();
  const from = shown.indexOf(event.target.closest("[data-p]"));
  if (from < 0 || event.ctrlKey || event.altKey || event.metaKey) return;
  const marked = (way) => { let n = from + way; while (shown[n] && shown[n].tagName !== "A") n += way; return shown[n]; };
  const to = {
    ArrowRight: () => shown[from + 1], ArrowLeft: () => shown[from - 1],
    ArrowDown: () => below(shown, from, 1), ArrowUp: () => below(shown, from, -1),
    Home: () => shown[0], End: () => shown[shown.length - 1],
    PageDown: () => marked(1), PageUp: () => marked(-1),
  }[event.key];
  if (!to) return;
  event.preventDefault();
  enter(to());
}

function jump() {
  const word = one("#jump").value.trim(), page = pageOf(word);
  const cell = page && cells[page - 1];
  one("#jump-says").textContent = !word || cell ? "" : `There is no page ${word}; the book has ${last}.`;
  if (!cell) return;
  if (cell.hidden) clear();
  enter(cell);
}

// a link into a folded list opens it
function unfold() {
  const target = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
  const folded = target && target.closest("details");
  if (folded && !folded.open) { folded.open = true; target.scrollIntoView(); }
  if (target && target.hidden) { clear(); target.scrollIntoView(); }
}

function step(way) {
  const shown = causes.filter((cause) => !cause.element.hidden);
  const here = shown.findIndex((cause) => cause.element.contains(document.activeElement));
  const next = shown[here < 0 ? (way > 0 ? 0 : shown.length - 1) : here + way];
  if (next) { next.head.focus({ preventScroll: true }); next.element.scrollIntoView({ block: "start" }); }
}
function keys(event) {
  if (event.key === "Escape" && event.target.closest("#filter")) { clear(); return; }
  if (!one("#single-keys").checked || event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.target.closest("input:not([type=checkbox]), select, textarea")) return;
  const act = {
    n: () => step(1), p: () => step(-1), f: () => field.pages.focus(), g: () => one("#jump").focus(),
  }[event.key];
  if (act) { event.preventDefault(); act(); }
}

if (bar && causes.length) {
  bar.hidden = false;
  for (const input of all("input, select", bar)) input.addEventListener("input", apply);
  one("#f-clear").addEventListener("click", clear);
}
for (const later of all(".needs-script")) later.hidden = false;
if (sheet) {
  for (const cell of cells) cell.tabIndex = -1;
  sheet.addEventListener("keydown", walk);
  sheet.addEventListener("focusin", (event) => { const cell = event.target.closest("[data-p]"); if (cell) rove(cell); });
  one("#jump-go").addEventListener("click", jump);
  one("#jump").addEventListener("keydown", (event) => { if (event.key === "Enter") jump(); });
}
document.addEventListener("keydown", keys);
addEventListener("hashchange", unfold);
if (causes.length) apply(); else rove();
unfold();
})();
