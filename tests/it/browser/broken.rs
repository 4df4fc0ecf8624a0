//! The checks can fail: a correct page is broken in one place, and the check for it must report the fault.

use super::driver::Browser;
use super::{SOUND, axe, browser, checks, page, print, required};
use std::path::PathBuf;

/// The page with a battery, changed and saved under this name. A change that changes nothing is an error.
fn broken(name: &str, change: impl Fn(&str) -> String) -> PathBuf {
    let folder = page::written();
    let sound = std::fs::read_to_string(folder.join("battery.html")).unwrap();
    let changed = change(&sound);
    assert_ne!(changed, sound, "{name} breaks nothing");
    let path = folder.join(format!("broken_{name}.html"));
    std::fs::write(&path, changed).unwrap();
    path
}

/// The page with this text inserted at the start of its content.
fn with(more: &str) -> impl Fn(&str) -> String + '_ {
    move |page| page.replacen("<main>", &format!("<main>{more}"), 1)
}

/// The page with nothing else in its content: its style and frame are all that is wanted, and a small page is quickly looked at.
fn alone(page: &str, more: &str) -> String {
    let (from, to) = (page.find("<main>").unwrap(), page.find("</main>").unwrap());
    format!("{}<main><section id='still'><h2>Still</h2>{more}</section>{}", &page[..from], &page[to..])
}

/// The page with a policy that lets any script run.
fn lenient(page: &str) -> String {
    let from = page.find("script-src ").unwrap() + "script-src ".len();
    let to = from + page[from..].find(';').unwrap();
    format!("{}'unsafe-inline'{}", &page[..from], &page[to..])
}

/// The page without an attribute of the first element that starts like this.
fn without(page: &str, element: &str, attribute: &str) -> String {
    let start = page.find(element).unwrap();
    let from = start + page[start..].find(&format!(" {attribute}=\"")).unwrap();
    let value = from + attribute.len() + 3;
    let to = value + page[value..].find('"').unwrap() + 1;
    page[..from].to_owned() + &page[to..]
}

fn open(b: &mut Browser, path: &std::path::Path, width: i64) {
    b.open(&format!("file://{}", path.display()), width);
}

fn says(faults: &[String], words: &str) {
    assert!(faults.iter().any(|f| f.contains(words)), "no fault says {words:?}: {faults:#?}");
}

#[test]
fn pale_text_is_told() {
    let Some(mut b) = browser() else { return };
    for (name, more, words) in [
        ("pale", "<p style='color:#999'>pale words</p>", "P pale words"),
        ("faint", "<div style='opacity:.4'><p>faint words</p></div>", "P faint words"),
        ("patch", "<p style='background:#0a6a89'>dark words on a dark patch</p>", "P dark words"),
        ("label", "<style>svg text.lab{fill:#a8b0b0}</style>", "text "),
    ] {
        open(&mut b, &broken(name, with(more)), 1280);
        says(&checks::contrast(&mut b), words);
    }
}

#[test]
fn what_dark_mode_misses_is_told() {
    let Some(mut b) = browser() else { return };
    open(&mut b, &broken("light_only", |p| p.replace("prefers-color-scheme:dark", "max-width:0")), 1280);
    let faults = checks::dark(&mut b);
    says(&faults, "paper is the same");
    says(&faults, "ink is the same");
    // The first is the light theme's.
    let dark_ink = |p: &str| {
        let (light, dark) = p.split_once("prefers-color-scheme:dark").unwrap();
        format!("{light}prefers-color-scheme:dark{}", dark.replacen("--soft:#a6b0b3", "--soft:#3a4245", 1))
    };
    open(&mut b, &broken("dark_on_dark", dark_ink), 1280);
    assert_eq!(checks::contrast(&mut b), SOUND, "the light theme is as it was");
    says(&checks::dark(&mut b), "in dark mode, contrast");
}

#[test]
fn what_forced_colours_hide_is_told() {
    let Some(mut b) = browser() else { return };
    let bars = "<style>svg.chart .bar{fill:Canvas!important}</style>";
    open(&mut b, &broken("hidden_bars", with(bars)), 1280);
    says(&checks::forced(&mut b), "in forced colours (dark), a mark is lost: bar");
    let own = "<p style='forced-color-adjust:none;color:#333;background:Canvas'>words of one colour</p>";
    open(&mut b, &broken("own_colour", with(own)), 1280);
    says(&checks::forced(&mut b), "in forced colours (dark), contrast");
}

#[test]
fn text_over_text_is_told() {
    let Some(mut b) = browser() else { return };
    let pair =
        "<div style='position:relative;height:3em'><p style='position:absolute;margin:0'>some words</p>
        <p style='position:absolute;margin:0;top:.3em'>others over them</p></div>";
    open(&mut b, &broken("stacked", with(pair)), 768);
    says(&checks::layout(&mut b, 768), "text over text: some words | others over them");
    let labels =
        "<svg class='chart' viewBox='0 0 400 40'><g role='img' aria-label='two labels over one another'>
        <text x='5' y='20'>one label</text><text x='20' y='22'>a stray label</text></g></svg>";
    open(&mut b, &broken("stray_label", with(labels)), 768);
    says(&checks::layout(&mut b, 768), "a stray label");
}

#[test]
fn a_line_through_a_text_is_told() {
    let Some(mut b) = browser() else { return };
    let crossed =
        "<svg class='chart' viewBox='0 0 400 40'><g role='img' aria-label='a label with a line through it'>
        <line class='grid' x1='0' x2='400' y1='20' y2='20'></line><text x='5' y='24'>a crossed label</text>
        <text x='205' y='14'>a free label</text></g></svg>";
    open(&mut b, &broken("crossed", with(crossed)), 768);
    let faults = checks::layout(&mut b, 768);
    says(&faults, "a line through a text: a crossed label (grid)");
    assert!(!faults.iter().any(|f| f.contains("a free label")), "{faults:?}");
}

#[test]
fn a_page_too_large_is_told() {
    let heavy = format!("<!--{}-->", "x".repeat(checks::LARGEST as usize));
    says(&checks::too_large(&broken("heavy", with(&heavy))), "bytes, at most 500000 are allowed");
}

#[test]
fn what_breaks_a_rule_of_axe_is_told() {
    let Some(mut b) = browser() else { return };
    if axe::code().is_none() {
        return;
    }
    for (name, more, rule) in [
        ("no_words", "<button type='button'></button>", "axe button-name (light)"),
        (
            "pale_in_the_dark",
            "<p style='color:#545e62'>words for the light alone</p>",
            "axe color-contrast (dark)",
        ),
        (
            "own_colour_in_forced",
            "<p style='forced-color-adjust:none;color:#444;background:Canvas'>words of a grey of their own</p>",
            "axe color-contrast (forced colours, dark)",
        ),
        (
            "two_marks",
            "<p id='still'>twice</p><table><thead><tr><th></th></tr></thead><tbody><tr><td>1</td></tr></tbody></table>",
            "axe empty-table-header",
        ),
    ] {
        open(&mut b, &broken(name, |page| alone(page, more)), 1280);
        says(&[axe::all_rules(&mut b), axe::colours(&mut b)].concat(), rule);
    }
}

#[test]
fn a_chart_without_a_name_is_told() {
    let Some(mut b) = browser() else { return };
    let image = "<g role=\"img\"";
    open(&mut b, &broken("unnamed", |p| without(p, image, "aria-label")), 1280);
    says(&checks::names(&mut b), "a chart is called \"\"");
    open(&mut b, &broken("no_image", |p| without(p, image, "role")), 1280);
    says(&checks::names(&mut b), "charts are drawn");
}

#[test]
fn what_does_not_fit_a_phone_is_told() {
    let Some(mut b) = browser() else { return };
    open(&mut b, &broken("wide", with("<div style='width:500px'>wide</div>")), 390);
    says(&checks::layout(&mut b, 390), "scrolls sideways at 390 px, to 5");
    // Folded away until somebody opens it.
    let folded = "<details><summary>more</summary><div style='width:500px'>wide</div></details>";
    open(&mut b, &broken("wide_inside", with(folded)), 390);
    says(&checks::layout(&mut b, 390), "scrolls sideways");
    let label = |p: &str| p.replacen("text x=\"2\"", "text x=\"-60\"", 1);
    open(&mut b, &broken("cut_label", label), 390);
    says(&checks::layout(&mut b, 390), "label outside the window");
    let table = "<div class='scroll' tabindex='0'><table><tbody><tr><td style='min-width:1500px'>a wide table</td></tr></tbody></table></div>";
    open(&mut b, &broken("wide_table", with(table)), 1280);
    says(&checks::layout(&mut b, 1280), "a table is wider than its frame: a wide table");
    let ladder = "<table><tbody><tr><th style='display:block;width:60px;white-space:normal'>12 W panel and no battery and 6 V pump</th>
        <td>39.00</td></tr></tbody></table>";
    open(&mut b, &broken("ladder", with(ladder)), 390);
    says(&checks::layout(&mut b, 390), "name in too narrow a column: 12 W panel");
}

#[test]
fn an_error_in_the_console_is_told() {
    let Some(mut b) = browser() else { return };
    for (name, script) in [
        ("console", "console.error('a word of trouble')"),
        ("thrown", "throw new Error('a word of trouble')"),
    ] {
        let more = format!("<script>{script}</script>");
        // Neither a script nor an attribute of an element runs that is not ours.
        open(&mut b, &broken(name, with(&more)), 1280);
        says(&std::mem::take(&mut b.troubles), "Content Security Policy");
        open(&mut b, &broken(name, |p| with(&more)(&lenient(p))), 1280);
        says(&std::mem::take(&mut b.troubles), "a word of trouble");
    }
}

/// Nothing listens on that port of this machine.
#[test]
fn a_request_for_something_else_is_told() {
    let Some(mut b) = browser() else { return };
    let image = "<img alt='from elsewhere' src='http://127.0.0.1:9/x.png'>";
    open(&mut b, &broken("forbidden", with(image)), 1280);
    says(&std::mem::take(&mut b.troubles), "127.0.0.1:9");
    let allowed = |p: &str| with(image)(&p.replacen("img-src data:", "img-src data: http:", 1));
    open(&mut b, &broken("foreign", allowed), 1280);
    says(&std::mem::take(&mut b.troubles), "asked for http://127.0.0.1:9/x.png");
}

#[test]
fn values_that_are_not_shown_are_told() {
    let Some(mut b) = browser() else { return };
    open(&mut b, &broken("mute", |p| lenient(p).replace("\"pointerover\", \"pointermove\", ", "")), 1280);
    says(&checks::hover(&mut b, "still", "April: "), "on hover #still says \"\"");
    open(
        &mut b,
        &broken("deaf", |p| lenient(p).replace("addEventListener(\"keydown\"", "addEventListener(\"none\"")),
        1280,
    );
    says(&checks::keyboard(&mut b, "still", "ArrowRight", "May: "), "by keyboard #still says \"April: ");
    let nameless = |p: &str| without(p, "<rect class=\"hit\"", "aria-label");
    open(&mut b, &broken("nameless", nameless), 1280);
    says(&checks::hover(&mut b, "still", "April: "), "on hover #still says");
}

#[test]
fn what_is_cut_on_paper_is_told() {
    let Some(mut b) = browser() else { return };
    let chart = "<svg class=\"chart\"";
    for (name, change, words) in [
        // Twice as high as a page.
        (
            "tall",
            Box::new(|p: &str| {
                p.replacen(chart, &format!("{chart} preserveAspectRatio=\"none\" style=\"height:2000px\""), 1)
            }) as Box<dyn Fn(&str) -> String>,
            "qe0z",
        ),
        (
            "parted",
            Box::new(with("<style>@media print{figcaption{break-after:page!important}}</style>")),
            "qt0z",
        ),
        (
            "left_alone",
            Box::new(with(
                "<style>@media print{section>div:first-child{break-after:page!important}}</style>",
            )),
            "qh0z",
        ),
    ] {
        let path = broken(&format!("printed_{name}"), change);
        let Some(printed) = print::printed(&mut b, &path) else {
            assert!(!required(), "no pdftotext found, and STILLDAYS_REQUIRE_BROWSER=1");
            return;
        };
        says(&printed.faults, words);
    }
}
