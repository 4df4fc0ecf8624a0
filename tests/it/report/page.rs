//! The page of a run.

use super::{fixture, fixture_days};
use std::path::PathBuf;
use std::sync::LazyLock;
use stilldays::plant::Cause;
use stilldays::report::{html, json};
use stilldays::sky::Skyline;
use stilldays::study::traces::{Pick, PickedDay};
use stilldays::units::System;

/// Writes pages as files, for the browser tests and for a look, and returns the folder. They are written once: another test may
/// be reading them.
pub fn written() -> PathBuf {
    static FOLDER: LazyLock<PathBuf> = LazyLock::new(|| {
        let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("pages");
        std::fs::create_dir_all(&folder).unwrap();
        for (name, page) in pages() {
            std::fs::write(folder.join(name), page).unwrap();
        }
        folder
    });
    FOLDER.clone()
}

fn pages() -> Vec<(&'static str, String)> {
    let traces = fixture_days::traces();
    vec![
        ("battery.html", html::run(&fixture::with_battery(), &traces, System::Si)),
        ("no_battery.html", html::run(&fixture::without_battery(), &[], System::Us)),
        ("never_still.html", html::run(&fixture::never_still(), &traces, System::Si)),
        ("hostile.html", html::run(&hostile(), &traces, System::Si)),
        ("client.html", html::client(&fixture::with_battery(), System::Si)),
        ("days.html", days("Courtyard bell jet (invented)")),
        ("hostile_days.html", days(EVIL)),
    ]
}

/// Days to watch: a still one first, which is also the worst of two causes.
fn days(title: &str) -> String {
    let skyline = Skyline::new(&[(80.0, 4.0), (130.0, 22.0), (170.0, 9.0), (250.0, 14.0), (300.0, 3.0)]);
    let page = html::DayPage {
        title,
        file: title,
        seed: 7,
        skyline,
        southern: false,
        wish_jet_m: 0.3,
        invented: true,
        cautions: &[title.to_owned()],
        units: System::Si,
    };
    html::day(&page, &picked())
}

/// The days of that page.
pub fn picked() -> Vec<PickedDay> {
    let picks = [
        vec![Pick::Still, Pick::Worst(Cause::BatteryFlat), Pick::Worst(Cause::TooLittleSun)],
        vec![Pick::Typical],
        vec![Pick::Bright],
    ];
    fixture_days::traces()
        .into_iter()
        .rev()
        .zip(picks)
        .map(|(trace, picks)| PickedDay { picks, trace })
        .collect()
}

/// A text that would be more than text.
const EVIL: &str = "<img src=x onerror=alert(1)>\u{202e}</script><script>alert(2)</script>";

/// A run in which every text contains markup.
fn hostile() -> stilldays::tally::Summary {
    let evil = EVIL.to_owned();
    let mut s = fixture::with_battery();
    s.design.title = evil.clone();
    s.design.file = evil.clone();
    s.weather.file = evil.clone();
    s.weather.files = vec![evil.clone()];
    s.weather.origin = evil.clone();
    s.run.command = evil.clone();
    s.warnings = vec![evil.clone()];
    s.cautions = vec![evil.clone()];
    s.shares[1].key = evil.clone();
    s.inputs[0].key = evil.clone();
    s.inputs[0].value = evil.clone();
    s.months[0].causes_min.insert(evil.clone(), 100.0);
    s.season.causes_min.insert(evil, 100.0);
    s
}

#[test]
fn a_page_is_one_file_of_bounded_size_that_asks_for_nothing() {
    for (name, page) in pages() {
        assert!(page.len() < 400_000, "{name}: {} bytes", page.len());
        println!("{name}: {} bytes", page.len());
        for mark in ["http://", "https://", "<link rel=\"stylesheet", "@import", "url(h"] {
            assert!(!page.contains(mark), "{name} holds {mark}");
        }
        assert!(!page.contains("NaN"), "{name}");
    }
}

#[test]
fn the_page_carries_the_very_numbers_of_the_summary() {
    let s = fixture::with_battery();
    let page = html::run(&s, &fixture_days::traces(), System::Si);
    let from = page.split("id=\"data\">").nth(1).unwrap();
    let data: serde_json::Value = serde_json::from_str(from.split("</script>").next().unwrap()).unwrap();
    let file: serde_json::Value = serde_json::from_slice(&json::bytes(&s)).unwrap();
    assert_eq!(data, file);
}

#[test]
fn text_from_outside_stays_text() {
    for (page, scripts) in [(html::run(&hostile(), &fixture_days::traces(), System::Si), 2), (days(EVIL), 3)]
    {
        assert!(!page.contains("<img src=x"), "an element from a title");
        assert_eq!(page.matches("<script").count(), scripts, "the page's own scripts and data");
        assert!(
            !page.split("<script").next().unwrap().contains('\u{202e}'),
            "a direction character outside the data"
        );
        assert!(page.contains("&lt;img src=x onerror=alert(1)&gt;[U+202E]"));
    }
}

#[test]
fn a_client_reads_plain_words() {
    for s in [fixture::with_battery(), fixture::without_battery(), fixture::never_still()] {
        let page = html::client(&s, System::Us);
        let text = page.split("<main>").nth(1).unwrap().split("</main>").next().unwrap();
        for jargon in
            ["±", "P10", "P50", "P90", "C_A", "still day", "dusk run", "interval", "trial", "NaN", "L a week"]
        {
            assert!(!text.contains(jargon), "{jargon}: {text}");
        }
        assert!(
            text.contains("not a guarantee")
                && text.contains("gal a week")
                && text.contains("fuse the battery")
        );
    }
    let page = html::client(&fixture::never_still(), System::Si);
    assert!(page.contains("plays every day in nine years of ten"));
}

#[test]
fn pages_are_written_for_a_look() {
    assert!(written().join("battery.html").exists());
}

/// The drawings of a page, one on each line, without the values shown on pointing.
#[test]
fn charts_are_drawn_as_before() {
    let page = html::run(&fixture::with_battery(), &[], System::Si);
    for id in ["still", "dusk", "hours", "causes", "battery", "unknowns", "trust"] {
        // The hours stand beside the dusk run, in its section.
        let start =
            if id == "hours" { "<div id=\"hours\"".to_owned() } else { format!("<section id=\"{id}\"") };
        let section = page.split(&start).nth(1).unwrap();
        let svg = section.split("<svg class=\"chart\"").nth(1).unwrap().split("</svg>").next().unwrap();
        let drawing = svg.split("<g role=\"list\"").next().unwrap().replace("><", ">\n<");
        insta::assert_snapshot!(format!("chart_{id}"), drawing);
    }
}
