//! Why it stood still: wanted time without a jet, by cause and month.

use super::parts::{Key, Section, Table, figure, key};
use crate::plant::Cause;
use crate::report::chart::{Plot, Scale, stack, svg};
use crate::report::{number, words};
use crate::tally::Summary;
use crate::units::letters::capital;
use maud::html;
use std::collections::BTreeMap;

pub(super) fn section(s: &Summary) -> Section {
    let remark = html! { "Every wanted minute without a jet has exactly one cause: the first that applies, in a fixed order." };
    let body = if words::ranked(&s.season.causes_min).is_empty() {
        html! { p { "Every wanted minute had a jet." } }
    } else {
        html! {
            div class="figs" {
                (chart(s, "hours without a jet", 60.0, &s.season.causes_min, |i| (&s.months[i].causes_min, &s.months[i].causes_min_95), time_finding))
                @let by_day = still_days(s);
                @if !by_day.is_empty() {
                    (chart(s, "still days", 1.0, &by_day, |i| (&s.months[i].still_days_by_cause, &s.months[i].still_days_by_cause_95), days_finding))
                }
            }
        }
    };
    Section::new("causes", "Why it stood still", remark, body)
}

fn time_finding(list: &[(&str, f64)], total: f64) -> String {
    let chief = capital(&words::cause(list[0].0));
    match list.len() {
        1 => format!("{chief}: the cause of all the time without a jet"),
        _ => {
            format!("{chief}: the cause of {} of the time without a jet", number::percent(list[0].1 / total))
        }
    }
}

fn days_finding(list: &[(&str, f64)], total: f64) -> String {
    let chief = capital(&words::cause(list[0].0));
    match list.len() {
        1 => format!("{chief}: the main cause of every still day"),
        _ => format!("{chief}: the main cause of {} of the still days", number::percent(list[0].1 / total)),
    }
}

/// The season's still days by chief cause, to rank them.
fn still_days(s: &Summary) -> BTreeMap<String, f64> {
    let mut sum = BTreeMap::new();
    for (cause, days) in s.months.iter().flat_map(|m| &m.still_days_by_cause) {
        *sum.entry(cause.clone()).or_insert(0.0) += days;
    }
    sum.retain(|_, days| *days > 0.0);
    sum
}

/// Class of the style sheet for a cause given by its key; one that is not known is painted as the sun's.
fn class(key: &str) -> &'static str {
    let cause = Cause::ALL.into_iter().find(|c| c.key() == key).unwrap_or(Cause::TooLittleSun);
    match cause {
        Cause::Blocked => "c0",
        Cause::LowWater => "c1",
        Cause::Wind => "c2",
        Cause::TooCold => "c3",
        Cause::BatteryFlat => "c4",
        Cause::Frozen => "c12",
        Cause::HeldBack => "c10",
        Cause::MountStarved => "c5",
        Cause::BehindSkyline => "c6",
        Cause::Covered => "c11",
        Cause::Pulsing => "c7",
        Cause::TooLow => "c8",
        Cause::TooLittleSun => "c9",
    }
}

/// Means by cause, and their 95 % intervals.
type Means = BTreeMap<String, f64>;
type Intervals = BTreeMap<String, [f64; 2]>;

fn chart<'a>(
    s: &'a Summary,
    unit: &str,
    per: f64,
    season: &BTreeMap<String, f64>,
    month: impl Fn(usize) -> (&'a Means, &'a Intervals),
    finding: impl Fn(&[(&str, f64)], f64) -> String,
) -> maud::Markup {
    let list = words::ranked(season);
    let total: f64 = list.iter().map(|(_, v)| v).sum();
    let value = |i: usize, cause: &str| month(i).0.get(cause).copied().unwrap_or(0.0) / per;
    let n = s.months.len();
    let sum = |i: usize| list.iter().map(|(c, _)| value(i, c)).sum::<f64>();
    let top = (0..n).map(sum).fold(0.0, f64::max);
    let plot = Plot::new(250.0, (0.0, n.max(1) as f64), (0.0, Scale::round_up(top.max(1.0), 5)));
    let labels: Vec<(f64, &str)> =
        (0..n).map(|i| (i as f64 + 0.5, words::month_short(s.months[i].month))).collect();
    let drawing = html! {
        (plot.y_axis(unit, 5))
        @for i in 0..n {
            (stack(&plot, i as f64 + 0.5, 0.62, &list.iter().map(|(c, _)| (class(c), value(i, c))).collect::<Vec<_>>()))
        }
        (plot.x_axis("", labels))
    };
    let digits = usize::from(per == 1.0);
    let hits: Vec<_> = (0..n)
        .map(|i| {
            let parts: Vec<String> = list
                .iter()
                .filter(|(c, _)| value(i, c) > 0.0)
                .map(|(c, _)| format!("{} {}", words::cause(c), number::fixed(value(i, c), digits)))
                .collect();
            let text = format!(
                "{}, {unit}: {}{}{}",
                words::month(s.months[i].month),
                number::fixed(sum(i), digits),
                if parts.is_empty() { "" } else { "; " },
                parts.join(", ")
            );
            plot.strip(i as f64, i as f64 + 1.0, text)
        })
        .collect();
    let keys: Vec<Key> =
        list.iter().map(|(c, _)| Key { class: class(c), line: false, text: words::cause(c) }).collect();
    let mut t = Table::new(&[unit]);
    t.head.extend(s.months.iter().map(|m| words::month_short(m.month).to_owned()));
    for (c, _) in &list {
        let cell = |i: usize| {
            let (means, errors) = month(i);
            number::estimate(words::within(means, errors, c).times(1.0 / per), 2, "±")
        };
        t.row(std::iter::once(words::cause(c)).chain((0..n).map(cell)));
    }
    let finding = finding(&list, total);
    let alternative = format!("Stacked columns of {unit} by month and cause. {finding}");
    figure(&finding, &svg(250.0, &alternative, &drawing, &hits), Some(&key(&keys)), &t)
}
