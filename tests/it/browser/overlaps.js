// Texts whose boxes share more than a pixel in both directions. What a frame that scrolls or a clip hides does not count; neither does a
// fifth of each line's height above and below, which letters leave empty.
(() => {
  const seen = e => e.checkVisibility({ contentVisibilityAuto: true, opacityProperty: true, visibilityProperty: true });
  const boxes = [], walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  for (let node; (node = walk.nextNode());) {
    const parent = node.parentElement, text = node.textContent.trim();
    if (!text || parent.closest("script, style") || !seen(parent)) continue;
    let [left, top, right, bottom] = [-1e9, -1e9, 1e9, 1e9], clipped = false;
    for (let e = parent; e && e !== document.body; e = e.parentElement) {
      const style = getComputedStyle(e);
      if (style.clipPath !== "none") clipped = true;
      if (!(e instanceof SVGElement) && style.overflowX !== "visible") {
        const frame = e.getBoundingClientRect();
        left = Math.max(left, frame.left); right = Math.min(right, frame.right);
        top = Math.max(top, frame.top); bottom = Math.min(bottom, frame.bottom);
      }
    }
    if (clipped) continue;
    const range = document.createRange();
    range.selectNodeContents(node);
    for (const r of parent instanceof SVGElement ? [parent.getBoundingClientRect()] : range.getClientRects()) {
      const air = 0.2 * r.height;
      const box = [Math.max(left, r.left), Math.max(top, r.top + air), Math.min(right, r.right), Math.min(bottom, r.bottom - air), text, parent];
      if (box[2] - box[0] > 1 && box[3] - box[1] > 1) boxes.push(box);
    }
  }
  boxes.sort((a, b) => a[1] - b[1]);
  const faults = new Set();
  boxes.forEach((a, i) => {
    for (let j = i + 1; j < boxes.length && boxes[j][1] < a[3] - 1; j++) {
      const b = boxes[j];
      if (a[5] === b[5]) continue;
      const wide = Math.min(a[2], b[2]) - Math.max(a[0], b[0]), high = Math.min(a[3], b[3]) - b[1];
      if (wide > 2 && high > 1) faults.add(`text over text: ${a[4].slice(0, 40)} | ${b[4].slice(0, 40)}`);
    }
  });
  return [...faults];
})()
