//! The section on which uncertain value to measure, and which change to make.

use super::parts::{Section, Table, figure};
use super::remedies;
use crate::report::chart::{Hit, Plot, coordinate, svg};
use crate::report::{number, words};
use crate::study::remedies::Remedies;
use crate::tally::Summary;
use crate::tally::summary::{Estimate, Share};
use maud::{Markup, html};

pub(super) fn section(s: &Summary, weighed: Option<&Remedies>) -> Option<Section> {
    if s.shares.is_empty() && weighed.is_none() {
        return None;
    }
    let body = html! {
        @if !s.shares.is_empty() {
            div class="figs" {
                (chart(s, "still days", |x| x.still_days))
                (chart(s, "the dusk run", |x| x.dusk_run))
            }
        }
        @if let Some(r) = weighed {
            h3 { "What each single change is worth" }
            p { (words::remedies::verdict(r, "±")) " " (words::remedies::settled(r)) }
            (remedies::ranked(r))
        }
    };
    let heading = match (s.shares.is_empty(), weighed) {
        (false, None) => "Which unknown to measure",
        (false, Some(_)) => "What to measure, what to change",
        (true, _) => "What to change",
    };
    let remark = html! {
        @if s.shares.is_empty() { "Each remedy is a single change, with the same weather and the same drawn parts." }
        @else { "First-order shares of the variance between trials. You can measure the parts, but not the weather. The shares need not add up to 100 %: the rest is interaction and chance." }
    };
    Some(Section::new("unknowns", heading, remark, body))
}

/// What is behind the section's fold.
pub(super) fn fold(s: &Summary, weighed: Option<&Remedies>) -> &'static str {
    match (s.shares.is_empty(), weighed) {
        (false, None) => "Which uncertain part matters most",
        (false, Some(_)) => "Which uncertain part matters most, and what each change is worth",
        (true, _) => "What each change is worth",
    }
}

/// The name as far as it fits beside its figure in the drawing; the table has the key, whole.
fn label(key: &str) -> String {
    const ROOM: usize = 38;
    let name = words::key_in_words(key);
    if name.chars().count() <= ROOM { name } else { name.chars().take(ROOM - 1).chain(['…']).collect() }
}

fn chart(s: &Summary, of: &str, value: impl Fn(&Share) -> Option<Estimate>) -> Markup {
    let mut list: Vec<(&str, Option<Estimate>)> =
        s.shares.iter().map(|x| (x.key.as_str(), value(x))).collect();
    let size = |e: &Option<Estimate>| e.map_or(-1.0, |e| e.mean);
    list.sort_by(|a, b| size(&b.1).total_cmp(&size(&a.1)));
    let mut t = Table::new(&["", "share of the variance"]);
    for (key, e) in &list {
        t.row([
            words::escaped(key).into_owned(),
            e.map_or(number::NOT_COMPUTABLE.to_owned(), |e| number::percent_estimate(e, "±")),
        ]);
    }
    let shown: Vec<(&str, Estimate)> = list.iter().filter_map(|(k, e)| e.map(|e| (*k, e))).take(10).collect();
    let row = 30.0;
    let height = 24.0 + row * shown.len() as f64 + 36.0;
    let plot = Plot::within(20.0, height - 36.0, (0.0, 1.0), (0.0, 1.0));
    let left = 8.0;
    let wide = |share: f64| share.clamp(0.0, 1.0) * (plot.right - left);
    let drawing = html! {
        @for (i, (key, e)) in shown.iter().enumerate() {
            @let y = plot.top + i as f64 * row;
            text class="lab" x=(left) y=(coordinate(y + 4.0)) { (label(key)) }
            text x=(coordinate(plot.right)) y=(coordinate(y + 4.0)) text-anchor="end" { (number::percent_estimate(*e, "±")) }
            rect class=(if *key == "weather" { "bar pale" } else { "bar" }) x=(left) y=(coordinate(y + 9.0)) height="9" width=(coordinate(wide(e.mean).max(0.5))) {}
            line class="base" x1=(left) x2=(left) y1=(coordinate(y + 7.0)) y2=(coordinate(y + 20.0)) {}
            @if let Some([lo, hi]) = e.interval_95 {
                @let (from, to) = (coordinate(left + wide(lo)), coordinate(left + wide(hi)));
                path class="spread" d=(format!("M{from} {y}H{to}M{from} {a}V{b}M{to} {a}V{b}",
                    y = coordinate(y + 13.5), a = coordinate(y + 10.5), b = coordinate(y + 16.5))) {}
            }
        }
    };
    let hits: Vec<Hit> = shown
        .iter()
        .enumerate()
        .map(|(i, (key, e))| Hit {
            x: 0.0,
            y: plot.top + i as f64 * row - 9.0,
            w: 400.0,
            h: row,
            text: format!(
                "{}: {} of the variance in {of}",
                words::key_in_words(key),
                number::percent_estimate(*e, "±")
            ),
        })
        .collect();
    let parts: Vec<(&str, Estimate)> =
        list.iter().filter(|(k, _)| *k != "weather").filter_map(|(k, e)| Some((*k, (*e)?))).collect();
    let finding = words::shares::leading(of, &parts);
    let height = height - 20.0;
    figure(&finding, &svg(height, &format!("Bars of variance shares. {finding}"), &drawing, &hits), None, &t)
}
