//! Text for the terminal.

use super::{fixture, fixture_days};
use std::time::Duration;
use stilldays::report::{Style, text};
use stilldays::units::System;

/// 488,000 days at 42,807 a second.
const TOOK: Option<Duration> = Some(Duration::from_millis(11_400));
const UNICODE: Style = Style { width: 80, colour: false, unicode: true, units: System::Si };

#[test]
fn a_run_in_colour_unicode_and_plain() {
    insta::assert_snapshot!("run_unicode", text::run(&fixture::with_battery(), TOOK, UNICODE));
    insta::assert_snapshot!("run_plain", text::run(&fixture::with_battery(), TOOK, Style::PLAIN));
    let colour = Style { colour: true, ..UNICODE };
    insta::assert_snapshot!(
        "run_colour",
        text::run(&fixture::with_battery(), TOOK, colour).replace('\u{1b}', "<esc>")
    );
    let us = Style { units: System::Us, ..UNICODE };
    assert!(text::run(&fixture::with_battery(), TOOK, us).contains("gal a week"));
}

#[test]
fn builds_without_battery_and_without_still_days_have_their_own_words() {
    insta::assert_snapshot!("run_without_battery", text::run(&fixture::without_battery(), TOOK, UNICODE));
    insta::assert_snapshot!("run_never_still", text::run(&fixture::never_still(), TOOK, UNICODE));
}

#[test]
fn no_line_is_wider_than_the_terminal_and_plain_text_is_ascii() {
    let mut s = fixture::with_battery();
    s.design.title = "x".repeat(300);
    s.warnings.push("y".repeat(300));
    for width in [48, 60, 80, 120] {
        for unicode in [false, true] {
            let style = Style { width, unicode, ..UNICODE };
            let all = text::run(&s, TOOK, style) + &text::day(&fixture_days::traces()[1], &s.cautions, style);
            for line in all.lines() {
                assert!(line.chars().count() <= width, "{width}: {} {line:?}", line.chars().count());
                assert!(unicode || line.is_ascii(), "{line:?}");
                assert_eq!(line.trim_end(), line);
            }
        }
    }
}

#[test]
fn text_from_outside_cannot_steer_the_terminal() {
    let mut s = fixture::with_battery();
    s.design.title = "\u{1b}[31mred\u{202e}turned\r\nnext".to_owned();
    s.warnings = vec!["\u{7}bell".to_owned()];
    let out = text::run(&s, TOOK, UNICODE);
    assert!(out.chars().all(|c| c == '\n' || !c.is_control()), "{out}");
    assert!(out.contains("[U+202E]") && out.contains("[U+0007]bell"));
}

#[test]
fn a_day_is_a_strip_of_eighty_columns() {
    for (name, trace) in ["bright", "typical", "still"].into_iter().zip(fixture_days::traces()) {
        insta::assert_snapshot!(format!("day_{name}"), text::day(&trace, &[], UNICODE));
        insta::assert_snapshot!(format!("day_{name}_plain"), text::day(&trace, &[], Style::PLAIN));
    }
}
