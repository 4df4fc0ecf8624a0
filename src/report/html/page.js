"use strict";
(() => {
  const say = (el, text) => { const out = el.closest("figure").querySelector("output"); if (out) out.textContent = text; };
  const cell = el => {
    const row = el.closest("figure").querySelector("table").tBodies[0].rows[el.c], head = row.parentNode.parentNode.tHead.rows[0];
    say(el, row.cells[0].textContent + ", " + head.cells[el.r + 1].textContent + ": " + row.cells[el.r + 1].textContent);
  };
  for (const list of document.querySelectorAll("[role=list]")) [...list.children].forEach((el, i) => { el.setAttribute("role", "listitem"); el.tabIndex = i ? -1 : 0; });
  const within = (x, n) => Math.max(0, Math.min(n - 1, Math.floor(x)));
  const show = e => {
    const el = e.target.closest && e.target.closest(".hit"); if (!el) return;
    if (!el.dataset.columns) return say(el, el.getAttribute("aria-label"));
    if (e.clientX !== undefined) {
      const box = el.getBoundingClientRect();
      el.c = within((e.clientX - box.left) / box.width * el.dataset.columns, +el.dataset.columns);
      el.r = within((e.clientY - box.top) / box.height * el.dataset.rows, +el.dataset.rows);
    } else if (el.c === undefined) { el.c = el.dataset.columns >> 1; el.r = el.dataset.rows >> 1; }
    cell(el);
  };
  for (const kind of ["pointerover", "pointermove", "focusin"]) document.addEventListener(kind, show);
  // On paper nothing can be clicked: what belongs there is opened for it.
  let opened = [];
  addEventListener("beforeprint", () => { opened = [...document.querySelectorAll("details.printed:not([open])")]; for (const d of opened) d.open = true; });
  addEventListener("afterprint", () => { for (const d of opened) d.open = false; opened = []; });
  document.addEventListener("keydown", e => {
    const el = e.target.closest(".hit"), step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[e.key];
    if (!el || !step) return;
    e.preventDefault();
    if (el.dataset.columns) { el.c = within(el.c + step[0], +el.dataset.columns); el.r = within(el.r + step[1], +el.dataset.rows); return cell(el); }
    // A map is walked through row by row, its rows counted from below; any other list by its neighbours.
    const all = [...el.parentNode.children], columns = +el.parentNode.dataset.columns, at = all.indexOf(el);
    const by = columns ? step[0] - columns * step[1] : step[0] + step[1];
    const next = columns && step[0] && Math.floor((at + by) / columns) !== Math.floor(at / columns) ? null : all[at + by];
    if (next) { el.tabIndex = -1; next.tabIndex = 0; next.focus(); }
  });
})();
