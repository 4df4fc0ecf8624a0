//! The page of `remedies`: what each single change is worth.

use super::compare::minus;
use super::page;
use super::parts::{Section, Table, numbers_bold, sections, table, untrusted};
use super::ranks::ranks;
use crate::report::number;
use crate::report::words::remedies::Measure;
use crate::report::words::{self, difference};
use crate::study::paired::Difference;
use crate::study::remedies::Remedies;
use maud::{Markup, html};

/// `remedies.html`: remedies in their order, and why.
pub fn remedies(r: &Remedies) -> String {
    let s = &r.design;
    let header = html! {
        p class="file" {
            code { (words::escaped(&s.design.file)) } " · at most " (words::trials(r.trials)) " · seed " (s.run.seed)
        }
        p class="verdict" { (numbers_bold(&words::remedies::best(r))) }
        p class="lead" { (numbers_bold(&words::remedies::as_it_is(r, "±"))) }
        p class="small" { (words::remedies::settled(r)) " Each remedy is a single change to the design, with the same weather and the same drawn parts. If an interval contains zero, there is no clear difference from the design as it is." }
        @if s.weather.invented {
            p class="small invented" { "The weather is invented. The figures show how the program works; they describe no real place." }
        }
    };
    let remark = html! { "Best first, all on one scale; lines are 95 % intervals. Remedies that could not reach the first three stopped early, so theirs are wider. Why: the cause whose lost minutes changed most." };
    let mut list = vec![Section::new("ranked", "What each is worth", remark, ranked(r)).full_width()];
    if !r.refused.is_empty() {
        let remark = html! { "Remedies in the design file that do not give a valid design." };
        let body = html! {
            ul class="list" { @for f in &r.refused { li class="warn" { (untrusted(&f.name)) ": " (untrusted(&f.why)) } } }
        };
        list.push(Section::new("refused", "Refused", remark, body));
    }
    list.extend(super::inputs::cautions(s));
    page::page(
        &format!("Remedies: {}", s.design.title),
        &header,
        &sections(&list),
        &serde_json::to_vec(r).unwrap_or_default(),
    )
}

pub(super) fn ranked(r: &Remedies) -> Markup {
    let currency = r.design.design.currency.as_deref();
    let (price, each) = (
        words::money::column("price", currency),
        words::money::column("price per still day avoided", currency),
    );
    let head = [
        "",
        "still days a month",
        "95 % interval",
        "dusk run, min",
        "95 % interval",
        &price,
        &each,
        "trials",
    ];
    let mut t = Table { named: true, ..Table::new(&head) };
    for (i, w) in r.ranked.iter().enumerate() {
        let a = &w.against;
        let dusk = a.dusk_run_min.as_ref();
        t.row([
            format!("{} {}", i + 1, words::remedies::name(r, w)),
            minus(&difference::mean(&a.still_days_per_month, 2)),
            interval(&a.still_days_per_month, 2),
            dusk.map_or(number::NOT_COMPUTABLE.to_owned(), |d| minus(&difference::mean(d, 1))),
            dusk.map_or(String::new(), |d| interval(d, 1)),
            minus(&difference::money(a.price)),
            difference::money_per_day(a.price_per_still_day, "–"),
            number::grouped(w.trials),
        ]);
    }
    html! {
        @match ranks(r) {
            None => p { "No remedy can be compared by this measure." },
            Some(rows) => { h3 { (finding(r)) } (rows) },
        }
        details { summary { "Numbers" } (table(&t)) }
    }
}

/// How many surely help, and which does most.
fn finding(r: &Remedies) -> String {
    let measure = Measure::of(r.by);
    let count = r.ranked.iter().filter(|w| measure.helped(w)).count();
    let (one, many) = measure.helps;
    let of = r.ranked.len();
    match r.ranked.iter().find(|w| measure.helped(w)) {
        None => format!("None of {of} remedies clearly {one}"),
        Some(best) => format!(
            "{count} of {of} remedies clearly {}; the first is {}",
            if count == 1 { one } else { many },
            words::quoted(&best.name)
        ),
    }
}

fn interval(d: &Difference, most: usize) -> String {
    difference::all_alike(d).unwrap_or_else(|| minus(&difference::interval(d, most)))
}
