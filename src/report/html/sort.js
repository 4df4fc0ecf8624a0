"use strict";
for (const table of document.querySelectorAll("table.sortable")) {
  const heads = [...table.tHead.rows[0].cells], body = table.tBodies[0];
  heads.forEach((head, column) => {
    const button = head.querySelector("button");
    if (!button) return;
    button.addEventListener("click", () => {
      const down = head.getAttribute("aria-sort") === "ascending";
      for (const other of heads) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      const key = row => row.cells[column].dataset.key;
      const order = (a, b) => {
        // What has no value stays last, whichever way the column is sorted.
        const [x, y] = [key(a), key(b)];
        if (x === "" || y === "") return (x === "") - (y === "");
        const difference = head.dataset.words ? x.localeCompare(y) : x - y;
        return down ? -difference : difference;
      };
      body.append(...[...body.rows].sort(order));
    });
  });
}
