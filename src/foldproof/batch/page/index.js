// SPDX-License-Identifier: AGPL-3.0-or-later
// Order and filter of the index of a batch.  Everything is on the page without it.
(() => {
"use strict";
const one = (css, from = document) => from.querySelector(css);
const all = (css, from = document) => [...from.querySelectorAll(css)];
const body = one("tbody");
const heads = all("thead th");
const words = new Intl.Collator("en", { numeric: true });
const books = all("tr", body).map((row, place) => ({ row, place, wanting: !row.classList.contains("ready"), name: plain(one("bdi", row).textContent) }));
const figure = (number) => number.toLocaleString("en");
function plain(text) { return text.normalize("NFC").toLowerCase(); }

// what a cell is ordered by; null where it says nothing
const values = {
  rank: (book) => -book.place,
  number: (book, column) => { const text = book.row.cells[column].textContent; return text === "" ? null : +text.replaceAll(",", ""); },
  text: (book, column) => (column ? book.row.cells[column].textContent : book.name) || null,
};
const first = { rank: "descending", number: "descending", text: "ascending" };
const told = {
  rank: { descending: "worst first", ascending: "best first" },
  number: { descending: "most first", ascending: "fewest first" },
  text: { ascending: "from A to Z", descending: "from Z to A" },
};

function sort(column) {
  const head = heads[column], by = head.dataset.by;
  const was = head.getAttribute("aria-sort");
  const way = !was ? first[by] : was === "ascending" ? "descending" : "ascending";
  for (const other of heads) other.removeAttribute("aria-sort");
  head.setAttribute("aria-sort", way);
  const sign = way === "ascending" ? 1 : -1;
  const keyed = books.map((book) => ({ book, key: values[by](book, column) }));
  keyed.sort((a, b) => {
    if (a.key === null || b.key === null) return (a.key === null) - (b.key === null) || a.book.place - b.book.place;
    const apart = by === "text" ? words.compare(a.key, b.key) : a.key - b.key;
    return sign * apart || a.book.place - b.book.place;
  });
  body.append(...keyed.map(({ book }) => book.row));
  say(`Ordered by ${head.textContent}, ${told[by][way]}.`);
}

const wanting = one("#f-wanting"), name = one("#f-name"), clear = one("#f-clear");
let shown = "", order = "";
function say(ordered = order) { order = ordered; one("#filter-says").textContent = `${shown} ${order}`.trim(); }
function apply() {
  const asked = plain(name.value).split(/\s+/).filter(Boolean);
  let count = 0;
  for (const book of books) {
    const stays = (!wanting.checked || book.wanting) && asked.every((word) => book.name.includes(word));
    book.row.hidden = !stays;
    count += stays;
  }
  const active = wanting.checked || asked.length > 0;
  clear.disabled = !active;
  shown = active ? `${figure(count)} of ${figure(books.length)} books shown.` : `All ${figure(books.length)} books shown.`;
  say();
}
function reset() { wanting.checked = false; name.value = ""; apply(); }

// a link to a book that the filter hides shows it
function reveal() {
  const target = location.hash.length > 1 && document.getElementById(location.hash.slice(1));
  if (target && target.hidden) { reset(); target.scrollIntoView(); }
}

heads.forEach((head, column) => {
  const button = document.createElement("button");
  button.type = "button";
  button.append(...head.childNodes);
  button.addEventListener("click", () => sort(column));
  head.append(button);
});
one("#filter").hidden = books.length < 2;
wanting.addEventListener("input", apply);
name.addEventListener("input", apply);
clear.addEventListener("click", () => { reset(); name.focus(); });
one("#filter").addEventListener("keydown", (event) => { if (event.key === "Escape") reset(); });
addEventListener("hashchange", reveal);
apply();
})();
