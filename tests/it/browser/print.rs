//! On paper: every chart is complete and below its own title, and no heading is alone at the foot of a page.

use super::{Browser, browser, page};
use base64::Engine as _;
use serde_json::json;
use std::path::Path;
use std::process::Command;

/// Inserts marks into the page: at the title, top and bottom of every chart, at every heading of a section and at the start
/// of what follows it. Returns the number of charts and sections.
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
    const first = h.querySelector('.body figcaption > *, .body p, .body li, .body th');
    if (!first || !shown(first)) continue;
    word(h.querySelector('h2'), `qh${sections}z`); word(first, `qf${sections}z`);
    sections++;
  }
  return [charts, sections];
})()";

fn sheets_of(pdf: &Path) -> Option<Vec<String>> {
    let out = Command::new("pdftotext").arg(pdf).arg("-").output().ok()?;
    assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
    Some(String::from_utf8_lossy(&out.stdout).split('\u{c}').map(str::to_owned).collect())
}

/// A page on paper.
pub struct Printed {
    /// Text of each sheet.
    sheets: Vec<String>,
    charts: u64,
    sections: u64,
    /// What is split between pages.
    pub faults: Vec<String>,
}

impl Printed {
    /// How many sheets; the print ends in a form feed.
    pub fn sheets(&self) -> usize {
        self.sheets.len() - 1
    }
}

fn torn(sheets: &[String], marks: &[String]) -> Option<String> {
    let at: Vec<Option<usize>> =
        marks.iter().map(|m| sheets.iter().position(|s| s.contains(m.as_str()))).collect();
    let whole = at[0].is_some() && at.iter().all(|sheet| *sheet == at[0]);
    (!whole).then(|| format!("{marks:?} are on sheets {at:?}"))
}

/// Prints a page next to its file; none if there is no program to read the print.
pub fn printed(b: &mut Browser, page: &Path) -> Option<Printed> {
    b.open(&format!("file://{}", page.display()), 794);
    b.send("Emulation.setEmulatedMedia", json!({ "media": "print" }));
    let count = b.eval(MARK);
    let (charts, sections) = (count[0].as_u64().unwrap(), count[1].as_u64().unwrap());
    let pdf = b.send("Page.printToPDF", json!({ "preferCSSPageSize": true }));
    b.send("Emulation.setEmulatedMedia", json!({ "media": "" }));
    let bytes = base64::engine::general_purpose::STANDARD.decode(pdf["data"].as_str().unwrap()).unwrap();
    let path = page.with_extension("pdf");
    std::fs::write(&path, bytes).unwrap();
    let sheets = sheets_of(&path)?;
    let chart = |i| ["qt", "qa", "qe"].map(|mark| format!("{mark}{i}z"));
    let section = |i| ["qh", "qf"].map(|mark| format!("{mark}{i}z"));
    let faults = (0..charts)
        .filter_map(|i| torn(&sheets, &chart(i)))
        .chain((0..sections).filter_map(|i| torn(&sheets, &section(i))))
        .collect();
    Some(Printed { sheets, charts, sections, faults })
}

#[test]
fn the_sheet_for_the_client_is_one_sheet() {
    let Some(mut b) = browser() else { return };
    let sheet = page::written().join("client.html");
    super::stands(&mut b, &sheet);
    let Some(p) = printed(&mut b, &sheet) else { return };
    assert_eq!(p.sheets.len() - 1, 1);
    assert_eq!(b.troubles, super::SOUND);
}

#[test]
fn charts_are_printed_whole() {
    let Some(mut b) = browser() else { return };
    let folder = page::written();
    for name in super::PAGES {
        let Some(p) = printed(&mut b, &folder.join(name)) else {
            assert!(!super::required(), "no pdftotext found, and STILLDAYS_REQUIRE_BROWSER=1");
            eprintln!("SKIPPED: no pdftotext found; what is printed was not looked at");
            return;
        };
        assert!(p.charts >= 5 && p.sections >= 4, "{name}: {} charts, {} sections", p.charts, p.sections);
        // The print ends in a form feed. What is folded is printed by whoever opens it.
        assert!(p.sheets.len() - 1 <= 4, "{name}: {} sheets", p.sheets.len() - 1);
        assert_eq!(p.faults, super::SOUND, "{name}");
        if name == "battery.html" {
            assert!(
                !p.sheets.iter().any(|s| s.contains("wish.hours")),
                "every value of the design is printed unasked"
            );
        }
        println!(
            "{name}: {} charts and {} headings whole on {} sheets",
            p.charts,
            p.sections,
            p.sheets.len()
        );
    }
    assert_eq!(b.troubles, super::SOUND);
}
