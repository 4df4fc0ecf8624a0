//! Pages in a real browser. Without Chromium these tests print so and pass, unless `STILLDAYS_REQUIRE_BROWSER=1` makes that
//! an error, as `.ci/run` does.

mod axe;
mod broken;
mod checks;
mod day;
mod driver;
mod others;
mod print;

use crate::report::page;
use driver::Browser;
use std::path::Path;

const PAGES: [&str; 4] = ["battery.html", "no_battery.html", "never_still.html", "hostile.html"];
const SOUND: [String; 0] = [];

fn required() -> bool {
    std::env::var("STILLDAYS_REQUIRE_BROWSER").is_ok_and(|v| v == "1")
}

fn browser() -> Option<Browser> {
    let found = Browser::start();
    if found.is_none() {
        assert!(!required(), "no Chromium found, and STILLDAYS_REQUIRE_BROWSER=1");
        eprintln!("SKIPPED: no Chromium found; the pages were not looked at in a browser");
    }
    found
}

/// A page fits a phone, a tablet and a desktop window, its labels are complete and clear of one another, its text can be read in both
/// themes and in forced colours, its charts have names, it keeps the rules of axe-core, and no error occurs.
pub fn holds(page: &Path) {
    let Some(mut b) = browser() else { return };
    stands(&mut b, page);
}

/// The same, and it is printed whole on so many sheets at most.
pub fn holds_on(page: &Path, most: usize) {
    let Some(mut b) = browser() else { return };
    stands(&mut b, page);
    let Some(p) = print::printed(&mut b, page) else {
        assert!(!required(), "no pdftotext found, and STILLDAYS_REQUIRE_BROWSER=1");
        return;
    };
    assert!(p.sheets() <= most, "{}: {} sheets", page.display(), p.sheets());
    assert_eq!(p.faults, SOUND, "{}", page.display());
}

fn stands(b: &mut Browser, page: &Path) {
    let name = page.display().to_string();
    assert_eq!(checks::too_large(page), SOUND, "{name}");
    for width in [390, 768, 1280] {
        b.open(&format!("file://{name}"), width);
        assert_eq!(checks::layout(b, width), SOUND, "{name} at {width} px");
        assert_eq!(checks::contrast(b), SOUND, "{name} at {width} px");
        assert_eq!(checks::dark(b), SOUND, "{name} at {width} px");
        assert_eq!(checks::forced(b), SOUND, "{name} at {width} px");
        assert_eq!(axe::all_rules(b), SOUND, "{name} at {width} px");
    }
    // Colours in the dark and in forced colours are measured by our own checks at each width; axe-core looks once.
    assert_eq!(axe::colours(b), SOUND, "{name}");
    assert_eq!(checks::names(b), SOUND, "{name}");
    assert_eq!(b.troubles, SOUND, "{name}");
}

#[test]
fn pages_hold_in_a_real_browser() {
    let Some(mut b) = browser() else { return };
    let folder = page::written();
    for name in PAGES {
        stands(&mut b, &folder.join(name));
        let charts = b.eval("document.querySelectorAll('svg.chart').length");
        assert!(charts.as_u64() >= Some(6), "{name}: {charts} charts");
    }
}

#[test]
fn values_show_on_hover_and_by_keyboard() {
    let Some(mut b) = browser() else { return };
    b.open(&format!("file://{}", page::written().join("battery.html").display()), 1280);
    assert_eq!(b.eval("document.querySelector('#still output').textContent"), "");
    assert_eq!(checks::hover(&mut b, "still", "April: "), SOUND);
    assert_eq!(checks::keyboard(&mut b, "still", "ArrowRight", "May: "), SOUND);
    // The map's values come from its table.
    assert_eq!(checks::keyboard(&mut b, "hours", "ArrowUp", " h: "), SOUND);
    assert_eq!(b.troubles, SOUND);
}

/// The map of a grid: a cell's values on hover, arrow keys in both directions.
pub fn walks_the_map(page: &Path) {
    let Some(mut b) = browser() else { return };
    b.open(&format!("file://{}", page.display()), 1280);
    assert_eq!(checks::hover(&mut b, "map", "still days a month ("), SOUND);
    let said = "document.querySelector('#map output').textContent";
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
    assert_eq!(b.troubles, SOUND);
}
