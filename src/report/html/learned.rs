//! The page of `learn`: what was believed, what was seen, what is believed now.

use super::compare::minus;
use super::page;
use super::parts::{Key, Section, Table, bullets, figure, key, non_breaking, numbers_bold, sections, table};
use crate::learn::{Findings, Quantity};
use crate::report::chart::{Dot, dots};
use crate::report::number;
use crate::report::words::{self, learned};
use crate::units::System;
use crate::units::letters::capital;
use maud::{Markup, html};

/// `learned.html`.
pub fn learned(f: &Findings, units: System) -> String {
    let header = html! {
        p class="file" {
            code { (words::escaped(&f.before.design.file)) } " · logbook " code { (words::escaped(&f.logbook[0])) } " · " (learned::size(f)) " · seed " (f.before.run.seed)
        }
        p class="verdict" { (numbers_bold(&learned::headline(f, "±"))) }
        @for why in &f.refusals { p class="lead" { "Refused: " (why) "." } }
        p class="lead" { (non_breaking(&f.verdict)) }
        p class="small" { (learned::weather(f)) }
        @if f.before.weather.invented {
            p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." }
        }
    };
    let mut list = vec![
        Section::new(
            "moved",
            "What moved",
            moved_remark(),
            html! { div class="figs" { (moved(f, units)) (before_and_now(f)) } },
        ),
        Section::new("entries", "Each entry", entries_remark(), entries(f, units)),
    ];
    if !f.explanations.is_empty() {
        let remark = html! { "Each fault was simulated as a rival to a sound fountain. The weight counts how likely it was before (sound five times as likely as each fault) and how well it fits the logbook." };
        list.push(Section::new("explanations", "What may be wrong", remark, explanations(f)));
    }
    let notes: Vec<String> = f.notes.iter().cloned().chain([learned::LEFT_OUT.to_owned()]).collect();
    let remark = html! { "A result is refused where two independent runs do not agree." };
    list.push(
        Section::new("runs", "How sure the computation is", remark, html! { p { (learned::sampler(f)) } })
            .folded("Two runs, and how far they agree"),
    );
    list.push(Section::new("notes", "What it leaves out", html! {}, bullets("warn", &notes)));
    let title = format!("What was seen: {}", f.before.design.title);
    page::page(&title, &header, &sections(&list), &serde_json::to_vec(f).unwrap_or_default())
}

fn before_and_now(f: &Findings) -> Markup {
    let mut t = Table {
        named: true,
        ..Table::new(&["", "still days a month", "still days a season", "dusk run, min"])
    };
    let mut row = |name: &str, s: &crate::tally::Summary| {
        let [month, season, dusk] = learned::figures(s, "±");
        t.row([name.to_owned(), month, season, dusk]);
    };
    row("as the design says", &f.before);
    if let Some(now) = &f.now {
        row("by what was seen", now);
    }
    html! { div { h3 { "Before and now" } (table(&t)) } }
}

/// Quantities that are drawn; all are in the numbers.
const DRAWN: usize = 8;

fn moved_remark() -> Markup {
    html! { "Quantities that moved, or became better known, by more than the computation's own error; the first eight are drawn. sd is one standard deviation; 0 in the chart is what was believed." }
}

fn moved(f: &Findings, units: System) -> Markup {
    let list: Vec<&Quantity> = f.quantities.iter().filter(|q| q.moved).collect();
    let mut t = Table { named: true, ..Table::new(&["", "believed", "now", "80 % now", "change"]) };
    for q in &f.quantities {
        t.row([
            learned::quantity(q),
            learned::mean_sd(q, q.before, units),
            learned::mean_sd(q, q.now, units),
            format!("{} to {}", learned::value(q, q.now_80[0], units), learned::value(q, q.now_80[1], units)),
            learned::change(q),
        ]);
    }
    let marks: Vec<Dot> = list
        .iter()
        .take(DRAWN)
        .map(|q| {
            let score = |x: f64| (x - q.before[0]) / q.before[1].max(1e-12);
            let name = learned::quantity(q);
            let text = format!(
                "{name}: believed {}, now {}: {}",
                learned::mean_sd(q, q.before, units),
                learned::mean_sd(q, q.now, units),
                learned::change(q)
            );
            Dot {
                name,
                mean: score(q.now[0]),
                interval: Some((score(q.now_80[0]), score(q.now_80[1]))),
                text,
            }
        })
        .collect();
    if marks.is_empty() {
        return html! {
            div {
                p { "No quantity moved by more than the computation's own error." }
                details { summary { "Numbers" } (table(&t)) }
            }
        };
    }
    let finding = match list.len() {
        1 => format!("{} moved most: {}", capital(&learned::quantity(list[0])), learned::change(list[0])),
        n => format!(
            "{n} quantities moved; most the {}: {}",
            learned::quantity(list[0]),
            learned::change(list[0])
        ),
    };
    let dot_key = key(&[
        Key { class: "point", line: false, text: "mean now".to_owned() },
        Key { class: "", line: true, text: "80 % of the units".to_owned() },
    ]);
    let chart = dots(
        &format!("{finding}. Quantities now, in standard deviations from what was believed."),
        "sd from what was believed",
        &marks,
    );
    figure(&finding, &chart, Some(&dot_key), &t)
}

fn entries_remark() -> Markup {
    html! { "Expected: what 8 of 10 units that agree with the whole logbook would have shown, errors of reading included. An entry is doubted if it is more likely wrong than not; then no unit of the design agrees with it, and the entry is wrong or something is broken." }
}

fn entries(f: &Findings, units: System) -> Markup {
    let mut t = Table {
        named: true,
        words: false,
        ..Table::new(&["", "expected", "probability that it is wrong", "line in the logbook"])
    };
    for (e, said) in f.entries.iter().zip(learned::entries(f, units)) {
        let doubted = if e.flagged { ", doubted" } else { "" };
        t.row([
            said,
            learned::expected(e, learned::entry_value(e, units)),
            format!("{}{doubted}", number::percent(e.wrong)),
            e.line.to_string(),
        ]);
    }
    table(&t)
}

fn explanations(f: &Findings) -> Markup {
    let mut t = Table { named: true, ..Table::new(&["", "weight", "ln evidence", "what would show it"]) };
    for w in &f.explanations {
        t.row([
            w.explanation.words().to_owned(),
            number::percent(w.weight),
            minus(&number::fixed(w.log_evidence, 1)),
            w.explanation.seen_by().to_owned(),
        ]);
    }
    table(&t)
}
