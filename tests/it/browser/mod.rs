//! Pages in a real browser. Where there is none these say so and pass, unless
//! `STILLDAYS_REQUIRE_BROWSER=1` makes that an error.

mod driver;
mod print;

use crate::report::page;
use driver::Browser;
use serde_json::{Value, json};

const PAGES: [&str; 4] = ["battery.html", "no_battery.html", "never_still.html", "hostile.html"];

fn browser() -> Option<Browser> {
    let found = Browser::start();
    if found.is_none() {
        let required = std::env::var("STILLDAYS_REQUIRE_BROWSER").is_ok_and(|v| v == "1");
        assert!(!required, "no Chromium found, and STILLDAYS_REQUIRE_BROWSER=1");
        eprintln!("SKIPPED: no Chromium found; the pages were not looked at in a browser");
    }
    found
}

/// A page fits a phone and a desk, its labels are whole, its text can be read, and nothing goes wrong.
pub fn holds(page: &std::path::Path) {
    let Some(mut b) = browser() else { return };
    let name = page.display().to_string();
    for width in [390, 1280] {
        b.open(&format!("file://{name}"), width);
        let wide = b.eval("document.documentElement.scrollWidth").as_i64().unwrap();
        assert!(wide <= width, "{name} at {width} px scrolls sideways to {wide}");
        assert_eq!(b.eval(CUT_LABELS), json!([]), "{name} at {width} px: labels outside the window");
        contrast(&mut b, &name);
    }
    assert_eq!(b.troubles, Vec::<String>::new(), "{name}");
}

#[test]
fn pages_hold_in_a_real_browser() {
    let Some(mut b) = browser() else { return };
    let folder = page::written();
    for name in PAGES {
        let url = format!("file://{}", folder.join(name).display());
        for width in [390, 1280] {
            b.open(&url, width);
            let wide = b.eval("document.documentElement.scrollWidth").as_i64().unwrap();
            assert!(wide <= width, "{name} at {width} px scrolls sideways to {wide}");
            let cut = b.eval(CUT_LABELS);
            assert_eq!(cut, json!([]), "{name} at {width} px: labels outside the window");
        }
        charts_are_named(&mut b, name, 6);
        contrast(&mut b, name);
        assert_eq!(b.troubles, Vec::<String>::new(), "{name}");
        let pdf = b.send("Page.printToPDF", json!({ "preferCSSPageSize": true }));
        assert!(pdf["data"].as_str().unwrap().len() > 10_000, "{name} prints");
    }
}

#[test]
fn values_show_on_hover_and_by_keyboard() {
    let Some(mut b) = browser() else { return };
    b.open(&format!("file://{}", page::written().join("battery.html").display()), 1280);
    let said = "document.querySelector('#still output').textContent";
    assert_eq!(b.eval(said), "");
    let at = b.eval(
        "(() => { const r = document.querySelector('#still .hit'); r.scrollIntoView({ block: 'center' });
          const p = r.getBoundingClientRect(); return [p.x + p.width / 2, p.y + p.height / 2]; })()",
    );
    b.send("Input.dispatchMouseEvent", json!({ "type": "mouseMoved", "x": at[0], "y": at[1] }));
    let hovered = b.eval(said);
    assert!(hovered.as_str().unwrap().starts_with("April: "), "{hovered}");
    b.eval("document.querySelector('#still .hit').focus()");
    b.key("ArrowRight");
    let stepped = b.eval(said);
    assert!(stepped.as_str().unwrap().starts_with("May: "), "{stepped}");
    // The map's values come from its table.
    b.eval("document.querySelector('#hours .hit').focus()");
    b.key("ArrowUp");
    let cell = b.eval("document.querySelector('#hours output').textContent");
    assert!(cell.as_str().unwrap().contains(" h: "), "{cell}");
    assert_eq!(b.troubles, Vec::<String>::new());
}

#[test]
fn dark_mode_changes_the_colours_and_keeps_the_contrast() {
    let Some(mut b) = browser() else { return };
    b.open(&format!("file://{}", page::written().join("battery.html").display()), 1280);
    let paper = "getComputedStyle(document.body).backgroundColor";
    let light = b.eval(paper);
    b.send(
        "Emulation.setEmulatedMedia",
        json!({ "features": [{ "name": "prefers-color-scheme", "value": "dark" }] }),
    );
    assert_ne!(light, b.eval(paper));
    contrast(&mut b, "dark");
}

/// Every chart has a name in the accessibility tree, and there are at least so many.
fn charts_are_named(b: &mut Browser, page: &str, least: usize) {
    let tree = b.send("Accessibility.getFullAXTree", json!({}));
    let images: Vec<&Value> = tree["nodes"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|n| n["ignored"] != true && matches!(n["role"]["value"].as_str(), Some("image" | "img")))
        .collect();
    assert!(images.len() >= least, "{page}: {} charts", images.len());
    for image in images {
        let name = image["name"]["value"].as_str().unwrap_or("");
        assert!(name.len() > 15, "{page}: a chart is called {name:?}");
    }
}

/// WCAG 2.2 AA: 4.5 to 1 for text, measured against the page's paper.
fn contrast(b: &mut Browser, page: &str) {
    let poor = b.eval(POOR_CONTRAST);
    assert_eq!(poor, json!([]), "{page}: text of poor contrast");
}

const POOR_CONTRAST: &str = r"(() => {
  const nums = c => c.match(/[\d.]+/g).slice(0, 3).map(Number);
  const lum = c => nums(c).map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4)
    .reduce((s, v, i) => s + v * [0.2126, 0.7152, 0.0722][i], 0);
  const paper = lum(getComputedStyle(document.body).backgroundColor), poor = new Set();
  for (const el of document.querySelectorAll('body *')) {
    if (![...el.childNodes].some(n => n.nodeType === 3 && n.data.trim()) || ['SCRIPT', 'STYLE'].includes(el.tagName)) continue;
    const s = getComputedStyle(el), l = lum(el instanceof SVGElement ? s.fill : s.color);
    const ratio = (Math.max(l, paper) + 0.05) / (Math.min(l, paper) + 0.05);
    if (ratio < 4.5) poor.add(el.tagName + ' ' + (s.fill || s.color) + ' ' + ratio.toFixed(2));
  }
  return [...poor];
})()";

const CUT_LABELS: &str = r"[...document.querySelectorAll('svg text')].filter(t => {
  const r = t.getBoundingClientRect(); return r.width > 0 && (r.left < -1 || r.right > innerWidth + 1); }).map(t => t.textContent)";

/// The map of a grid: a cell's values on hover, arrow keys in both directions, both themes.
pub fn walks_the_map(page: &std::path::Path) {
    let Some(mut b) = browser() else { return };
    let name = page.display().to_string();
    b.open(&format!("file://{name}"), 1280);
    let said = "document.querySelector('#map output').textContent";
    let at = b.eval(
        "(() => { const r = document.querySelector('#map .hit'); r.scrollIntoView({ block: 'center' });
          const p = r.getBoundingClientRect(); return [p.x + p.width / 2, p.y + p.height / 2]; })()",
    );
    b.send("Input.dispatchMouseEvent", json!({ "type": "mouseMoved", "x": at[0], "y": at[1] }));
    let first = b.eval(said);
    assert!(first.as_str().unwrap().contains("still days a month;"), "{first}");
    let label = |k: &str| {
        format!("document.querySelector('#map [role=list]').children[{k}].getAttribute('aria-label')")
    };
    let columns = "+document.querySelector('#map [role=list]').dataset.columns";
    b.eval("document.querySelector('#map .hit').focus()");
    for (key, place) in [
        ("ArrowLeft", "0".to_owned()),
        ("ArrowRight", "1".to_owned()),
        ("ArrowUp", format!("1 + {columns}")),
        ("ArrowLeft", columns.to_owned()),
        ("ArrowLeft", columns.to_owned()),
        ("ArrowDown", "0".to_owned()),
        ("ArrowDown", "0".to_owned()),
    ] {
        b.key(key);
        let (shown, meant) = (b.eval(said), b.eval(&label(&place)));
        assert_eq!(shown, meant, "{key}");
    }
    charts_are_named(&mut b, &name, 2);
    b.send(
        "Emulation.setEmulatedMedia",
        json!({ "features": [{ "name": "prefers-color-scheme", "value": "dark" }] }),
    );
    contrast(&mut b, "dark");
    assert_eq!(b.troubles, Vec::<String>::new(), "{name}");
}
