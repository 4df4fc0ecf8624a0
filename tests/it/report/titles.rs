//! Titles of charts: a finding in plain words, in extreme cases as well.

use super::{fixture, fixture_days};
use stilldays::report::html;
use stilldays::tally::Summary;
use stilldays::units::System;

fn titles(s: &Summary) -> Vec<String> {
    let page = html::run(s, &fixture_days::traces(), System::Si);
    let list: Vec<String> =
        page.split("<h3>").skip(1).map(|t| t.split("</h3>").next().unwrap().replace('\u{a0}', " ")).collect();
    for t in &list {
        assert!(!t.contains("NaN") && !t.contains("reach 0") && !t.contains(" 0 minutes"), "{t}");
        assert!(!t.contains("0.0"), "{t}");
        assert!(t.chars().count() > 7 && t.chars().count() < 130, "{t}");
    }
    println!("{}\n", list.join("\n"));
    list
}

fn has(list: &[String], title: &str) {
    assert!(list.iter().any(|t| t == title), "“{title}” is not among {list:#?}");
}

#[test]
fn charts_state_what_they_show() {
    let with = titles(&fixture::with_battery());
    has(&with, "October is the worst month with 5.3 still days, July the best with 1.1");
    assert!(with.iter().any(|t| t.starts_with("On half of the evenings the jet runs for ")), "{with:?}");

    let without = titles(&fixture::without_battery());
    has(&without, "On nine evenings out of ten the jet has stopped by sunset; none reaches the 60 asked for");
    has(&without, "The median dusk run is zero in every month");

    let never = titles(&fixture::never_still());
    has(&never, "No month had a still day in any trial");
    has(&never, "No simulated year has a month of more than 4 still days");
}

#[test]
fn always_still_one_month_and_no_sunset_have_titles_too() {
    let mut s = fixture::with_battery();
    s.months.truncate(1);
    s.season.days = 30;
    s.season.bearable_years.mean = 0.0;
    s.season.bearable_years.se = Some(0.0);
    s.season.causes_min.retain(|k, _| k == "battery_flat");
    for m in &mut s.months {
        m.causes_min.retain(|k, _| k == "battery_flat");
    }
    for row in &mut s.hours.rows {
        row.jet_share.fill(0.0);
    }
    if let Some(b) = &mut s.battery {
        for w in &mut b.weeks {
            w.low_p50 = 0.0;
        }
        b.cycle_depth_histogram = vec![0.0; 20];
        b.cycles_per_year = 0.0;
    }
    let list = titles(&s);
    has(&list, "April: 3.8 still days");
    has(&list, "Every simulated year has a month of more than 4 still days");
    has(&list, "No wanted hour has a jet");
    has(&list, "Battery flat: the cause of all the time without a jet");
    has(&list, "No cycle was counted");
    assert!(list.iter().any(|t| t.ends_with("the battery runs empty on half the days")), "{list:?}");
    assert!(list.iter().any(|t| t.starts_with("The median dusk run of April is ")), "{list:?}");

    // North of the polar circle in summer.
    s.season.dusk_run_min = None;
    for m in &mut s.months {
        m.dusk_run_min = None;
    }
    for row in &mut s.hours.rows {
        row.jet_share.clone_from(&row.wanted_share);
        row.sunrise_h = None;
        row.sunset_h = None;
    }
    let list = titles(&s);
    has(&list, "Every wanted hour has a jet throughout");
    assert!(!list.iter().any(|t| t.contains("sunset")), "{list:?}");
}

#[test]
fn no_part_is_named_whose_share_may_be_chance() {
    let mut s = fixture::with_battery();
    has(
        &titles(&s),
        "For still days, measure the bench of the pump first: it accounts for 21 ± 4 % of the spread",
    );
    for share in &mut s.shares {
        for e in [&mut share.still_days, &mut share.dusk_run].into_iter().flatten() {
            *e = stilldays::tally::summary::Estimate::new(e.mean, Some(0.3));
        }
    }
    has(&titles(&s), "For still days, no part clearly accounts for any of the spread");
}
