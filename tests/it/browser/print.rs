//! On paper: every chart whole, under its own title, and no heading left alone at the foot of a page.

use super::{Browser, browser, page};
use base64::Engine as _;
use serde_json::{Value, json};
use std::path::Path;
use std::process::Command;

/// Puts words to be found again into the page: at the title, top and bottom of every chart, at every heading of a
/// section and at the start of what follows it. Gives back how many charts and sections there are.
const MARK: &str = r"(() => {
  const word = (at, text) => { const s = document.createElement('span'); s.textContent = text + ' '; at.prepend(s); };
  const drawn = (svg, y, text) => {
    const t = document.createElementNS('http://www.w3.org/2000/svg', 'text');
    t.textContent = text; t.setAttribute('x', 180); t.setAttribute('y', y); svg.append(t);
  };
  const shown = e => e.checkVisibility({ contentVisibilityAuto: true }) && !e.closest('details:not([open])');
  let charts = 0, sections = 0;
  for (const f of document.querySelectorAll('figure')) {
    const svg = f.querySelector('svg.chart'), title = f.querySelector('figcaption > *');
    if (!svg || !title || !shown(svg)) continue;
    const box = svg.viewBox.baseVal;
    word(title, `qt${charts}z`); drawn(svg, 8, `qa${charts}z`); drawn(svg, box.height - 2, `qe${charts}z`);
    charts++;
  }
  for (const h of document.querySelectorAll('section')) {
    const first = h.querySelector('.body figcaption > *, .body p, .body li');
    if (!first || !shown(first)) continue;
    word(h.querySelector('h2'), `qh${sections}z`); word(first, `qf${sections}z`);
    sections++;
  }
  return [charts, sections];
})()";

fn pages_of(pdf: &Path) -> Option<Vec<String>> {
    let out = Command::new("pdftotext").arg(pdf).arg("-").output().ok()?;
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    Some(String::from_utf8_lossy(&out.stdout).split('\u{c}').map(str::to_owned).collect())
}

fn on_one_page(pages: &[String], marks: &[String], page: &str) {
    let at: Vec<Option<usize>> =
        marks.iter().map(|m| pages.iter().position(|p| p.contains(m.as_str()))).collect();
    assert!(at[0].is_some() && at.iter().all(|p| *p == at[0]), "{page}: {marks:?} are on pages {at:?}");
}

fn printed(b: &mut Browser, url: &str, name: &str, folder: &Path) -> Option<()> {
    b.open(url, 794);
    b.send("Emulation.setEmulatedMedia", json!({ "media": "print" }));
    assert_eq!(b.eval("getComputedStyle(document.querySelector('figure')).breakInside"), "avoid", "{name}");
    let count = b.eval(MARK);
    let (charts, sections) = (count[0].as_u64().unwrap(), count[1].as_u64().unwrap());
    assert!(charts >= 6 && sections >= 6, "{name}: {charts} charts, {sections} sections");
    let pdf = b.send("Page.printToPDF", json!({ "preferCSSPageSize": true }));
    b.send("Emulation.setEmulatedMedia", json!({ "media": "" }));
    let bytes = base64::engine::general_purpose::STANDARD.decode(pdf["data"].as_str().unwrap()).unwrap();
    let path = folder.join(name).with_extension("pdf");
    std::fs::write(&path, bytes).unwrap();
    let pages = pages_of(&path)?;
    assert!(pages.len() > 3, "{name}: {} pages", pages.len());
    for i in 0..charts {
        on_one_page(&pages, &[format!("qt{i}z"), format!("qa{i}z"), format!("qe{i}z")], name);
    }
    for i in 0..sections {
        on_one_page(&pages, &[format!("qh{i}z"), format!("qf{i}z")], name);
    }
    if name == "battery.html" {
        assert!(pages.iter().any(|p| p.contains("wish.hours")), "every value of the design is printed");
    }
    println!("{name}: {charts} charts and {sections} headings whole on {} pages", pages.len());
    Some(())
}

#[test]
fn charts_are_printed_whole() {
    let Some(mut b) = browser() else { return };
    let folder = page::written();
    for name in super::PAGES {
        let url = format!("file://{}", folder.join(name).display());
        if printed(&mut b, &url, name, &folder).is_none() {
            let required = std::env::var("STILLDAYS_REQUIRE_BROWSER").is_ok_and(|v| v == "1");
            assert!(!required, "no pdftotext found, and STILLDAYS_REQUIRE_BROWSER=1");
            eprintln!("SKIPPED: no pdftotext found; what is printed was not looked at");
            return;
        }
    }
    assert_eq!(b.troubles, Vec::<Value>::new());
}
