//! Checks of a page. Each returns a list of faults: the tests of our pages expect it to be empty, the tests with pages
//! broken on purpose (`broken.rs`) expect the fault in it.

use super::driver::Browser;
use serde_json::{Value, json};

fn texts(list: &Value) -> Vec<String> {
    list.as_array().unwrap().iter().map(|t| t.as_str().unwrap().to_owned()).collect()
}

/// All checks at one window width, with every fold open.
pub fn layout(b: &mut Browser, width: i64) -> Vec<String> {
    b.eval("document.querySelectorAll('details').forEach(d => { d.dataset.was = d.open; d.open = true; })");
    let faults =
        [sideways(b, width), cut_labels(b), cramped(b), hidden(b, width), overlaps(b), crossed(b)].concat();
    b.eval("document.querySelectorAll('details').forEach(d => { d.open = d.dataset.was === 'true'; })");
    faults
}

/// Whether the page is wider than the window.
pub fn sideways(b: &mut Browser, width: i64) -> Vec<String> {
    let wide = b.eval("document.documentElement.scrollWidth").as_i64().unwrap();
    if wide > width { vec![format!("scrolls sideways at {width} px, to {wide}")] } else { Vec::new() }
}

/// Labels of charts that extend beyond the window.
pub fn cut_labels(b: &mut Browser) -> Vec<String> {
    texts(&b.eval(
        r"[...document.querySelectorAll('svg text')].filter(t => {
            const r = t.getBoundingClientRect(); return r.width > 0 && (r.left < -1 || r.right > innerWidth + 1);
          }).map(t => 'label outside the window: ' + t.textContent)",
    ))
}

/// Row names in a column so narrow that each word is on a line of its own.
pub fn cramped(b: &mut Browser) -> Vec<String> {
    texts(&b.eval(
        r"[...document.querySelectorAll('tbody th')].filter(name => {
            const range = document.createRange(); range.selectNodeContents(name);
            const lines = new Set([...range.getClientRects()].map(r => Math.round(r.bottom)));
            return lines.size > 4 && name.getBoundingClientRect().width < 140;
          }).map(name => 'name in too narrow a column: ' + name.textContent)",
    ))
}

/// Largest page, bytes.
pub const LARGEST: u64 = 500_000;

/// A page that is too large to be sent about.
pub fn too_large(page: &std::path::Path) -> Vec<String> {
    let bytes = std::fs::metadata(page).unwrap().len();
    if bytes > LARGEST { vec![format!("{bytes} bytes, at most {LARGEST} are allowed")] } else { Vec::new() }
}

/// Tables of which a wide window hides a part. What stands in a column beside another, as the numbers of a chart do, may scroll.
pub fn hidden(b: &mut Browser, width: i64) -> Vec<String> {
    if width < 1280 {
        return Vec::new();
    }
    texts(&b.eval(
        r"[...document.querySelectorAll('.scroll')].filter(e => !e.closest('figure, .figs') && e.clientWidth > 0 && e.scrollWidth > e.clientWidth + 1)
           .map(e => 'a table is wider than its frame: ' + e.textContent.trim().slice(0, 60))",
    ))
}

/// Texts of charts that a line of the frame or a mark runs through, unless they have a ground of their own.
pub fn crossed(b: &mut Browser) -> Vec<String> {
    texts(&b.eval(
        r"(() => {
          const faults = new Set();
          for (const svg of document.querySelectorAll('svg.chart')) {
            const lines = [...svg.querySelectorAll('line, path.mark, path.base, path.grid')].map(e => [e, e.getBoundingClientRect()]);
            for (const t of svg.querySelectorAll('text')) {
              const style = getComputedStyle(t), r = t.getBoundingClientRect(), air = 0.25 * r.height;
              if (r.width === 0 || style.paintOrder.startsWith('stroke') && parseFloat(style.strokeWidth) > 2) continue;
              for (const [e, l] of lines) {
                if (l.width > 2 && l.height > 2) continue;
                const wide = Math.min(r.right - 1, l.right) - Math.max(r.left + 1, l.left);
                const high = Math.min(r.bottom - air, l.bottom) - Math.max(r.top + air, l.top);
                if (wide >= 0 && high >= 0) faults.add('a line through a text: ' + t.textContent + ' (' + e.getAttribute('class') + ')');
              }
            }
          }
          return [...faults];
        })()",
    ))
}

/// Texts that lie over one another.
pub fn overlaps(b: &mut Browser) -> Vec<String> {
    texts(&b.eval(include_str!("overlaps.js")))
}

/// What cannot be read or seen where the reader's system chooses the colours, on light and on dark ground.
pub fn forced(b: &mut Browser) -> Vec<String> {
    let mut faults = Vec::new();
    for scheme in ["light", "dark"] {
        let features = json!([
            { "name": "forced-colors", "value": "active" },
            { "name": "prefers-color-scheme", "value": scheme },
        ]);
        b.send("Emulation.setEmulatedMedia", json!({ "features": features }));
        let lost = texts(&b.eval(
            r"(() => {
              const shade = c => { const [r, g, b, a = 1] = c.match(/[\d.]+/g).map(Number); return a < 0.1 ? null : [r, g, b]; };
              const apart = (a, b) => Math.hypot(...a.map((v, i) => v - b[i]));
              const ground = shade(getComputedStyle(document.documentElement).backgroundColor) ?? [255, 255, 255];
              const lost = new Set();
              for (const e of document.querySelectorAll('svg.chart .bar, svg.chart .line:not(.edge, .top), .band i.jet')) {
                const style = getComputedStyle(e);
                const ink = e.matches('i') ? style.backgroundColor : e.matches('.line') ? style.stroke : style.fill;
                const colour = ink.startsWith('rgb') ? shade(ink) : [255, 0, 255];
                if (!colour || apart(colour, ground) < 60) lost.add('a mark is lost: ' + e.getAttribute('class'));
              }
              return [...lost];
            })()",
        ));
        faults.extend(
            contrast(b).into_iter().chain(lost).map(|f| format!("in forced colours ({scheme}), {f}")),
        );
    }
    b.send("Emulation.setEmulatedMedia", json!({ "features": [] }));
    faults
}

/// Text with a contrast below 4.5 to 1 (WCAG 2.2 AA) to its background; transparent colours are blended.
pub fn contrast(b: &mut Browser) -> Vec<String> {
    texts(&b.eval(
        r"(() => {
          const rgba = c => { const n = c.match(/[\d.]+/g).map(Number); return n.length > 3 ? n : [...n, 1]; };
          const over = (top, low) => [0, 1, 2].map(i => top[i] * top[3] + low[i] * (1 - top[3])).concat(1);
          const lum = c => c.slice(0, 3).map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
            .reduce((s, v, i) => s + v * [0.2126, 0.7152, 0.0722][i], 0);
          const paper = rgba(getComputedStyle(document.body).backgroundColor), poor = new Set();
          for (const el of document.querySelectorAll('body *')) {
            if (![...el.childNodes].some(n => n.nodeType === 3 && n.data.trim()) || ['SCRIPT', 'STYLE'].includes(el.tagName)) continue;
            const up = []; for (let e = el; e && e !== document.body; e = e.parentElement) up.unshift(getComputedStyle(e));
            const behind = up.reduce((low, s) => over(rgba(s.backgroundColor), low), paper);
            const s = up.at(-1), ink = rgba(el instanceof SVGElement ? s.fill : s.color);
            ink[3] *= up.reduce((share, s) => share * s.opacity, 1);
            const [l, p] = [lum(over(ink, behind)), lum(behind)];
            const ratio = (Math.max(l, p) + 0.05) / (Math.min(l, p) + 0.05);
            if (ratio < 4.5) poor.add('contrast ' + ratio.toFixed(2) + ': ' + el.tagName + ' ' + el.textContent.trim().slice(0, 40));
          }
          return [...poor];
        })()",
    ))
}

/// Charts that are missing from the accessibility tree, or have no name in it.
pub fn names(b: &mut Browser) -> Vec<String> {
    let drawn = b.eval(
        "[...document.querySelectorAll('svg.chart')].filter(e => e.checkVisibility({ contentVisibilityAuto: true })
         && !e.closest('details:not([open])')).length",
    );
    let tree = b.send("Accessibility.getFullAXTree", json!({}));
    let images: Vec<&Value> = tree["nodes"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|n| n["ignored"] != true && matches!(n["role"]["value"].as_str(), Some("image" | "img")))
        .collect();
    let mut faults = Vec::new();
    if (images.len() as u64) < drawn.as_u64().unwrap() {
        faults.push(format!("{drawn} charts are drawn, {} are images to a reader", images.len()));
    }
    for image in images {
        let name = image["name"]["value"].as_str().unwrap_or("");
        if name.len() <= 15 {
            faults.push(format!("a chart is called {name:?}"));
        }
    }
    faults
}

/// Colours that dark mode does not change, and text that cannot be read in it.
pub fn dark(b: &mut Browser) -> Vec<String> {
    let scheme = |b: &mut Browser, value: &str| {
        let features = json!([{ "name": "prefers-color-scheme", "value": value }]);
        b.send("Emulation.setEmulatedMedia", json!({ "features": features }));
    };
    let colours = [
        ("paper", "getComputedStyle(document.body).backgroundColor"),
        ("ink", "getComputedStyle(document.body).color"),
    ];
    scheme(b, "light");
    let light = colours.map(|(_, ask)| b.eval(ask));
    scheme(b, "dark");
    let mut faults = Vec::new();
    for ((name, ask), light) in colours.into_iter().zip(light) {
        if b.eval(ask) == light {
            faults.push(format!("{name} is the same in dark mode"));
        }
    }
    faults.extend(contrast(b).into_iter().map(|f| format!("in dark mode, {f}")));
    scheme(b, "light");
    faults
}

/// Text shown on pointing at the first value of a section's chart, against its expected start.
pub fn hover(b: &mut Browser, section: &str, begins: &str) -> Vec<String> {
    let at = b.eval(&format!(
        "(() => {{ const r = document.querySelector('#{section} .hit'); r.scrollIntoView({{ block: 'center' }});
          const p = r.getBoundingClientRect(); return [p.x + p.width / 2, p.y + p.height / 2]; }})()"
    ));
    b.send("Input.dispatchMouseEvent", json!({ "type": "mouseMoved", "x": at[0], "y": at[1] }));
    told(b, section, begins, "on hover")
}

/// Text shown when the first value has the focus and a key is pressed.
pub fn keyboard(b: &mut Browser, section: &str, key: &str, holds: &str) -> Vec<String> {
    b.eval(&format!("document.querySelector('#{section} .hit').focus()"));
    b.key(key);
    told(b, section, holds, "by keyboard")
}

fn told(b: &mut Browser, section: &str, holds: &str, how: &str) -> Vec<String> {
    let said = b.eval(&format!("document.querySelector('#{section} output').textContent"));
    let said = said.as_str().unwrap_or("");
    match said.contains(holds) {
        true => Vec::new(),
        false => vec![format!("{how} #{section} says {said:?}, not {holds:?}")],
    }
}
