//! The answers of a run in figures, for the first screen.

use super::parts::non_breaking;
use crate::report::{number, words};
use crate::tally::Summary;
use crate::units::System;
use maud::{Markup, html};

/// An answer: what is asked, the figure, and what belongs to it.
struct Answer {
    asked: &'static str,
    figure: String,
    beside: String,
}

/// The answers side by side.
pub(super) fn figures(s: &Summary, units: System) -> Markup {
    let answers = [
        Some(still(s)),
        dusk(s),
        Some(jet(s)),
        why(s),
        battery(s),
        Some(water(s, units)),
        measure(s),
        price(s),
    ];
    html! {
        dl class="glance" {
            @for a in answers.into_iter().flatten() {
                div { dt { (a.asked) } dd { b { (non_breaking(&a.figure)) } span { (non_breaking(&a.beside)) } } }
            }
        }
    }
}

fn still(s: &Summary) -> Answer {
    let worst = &s.season.worst_month;
    let beside = if worst.p90 < 0.5 {
        "none in nine years of ten".to_owned()
    } else {
        format!("worst month: at most {} in nine years of ten", number::fixed(worst.p90, 0))
    };
    Answer {
        asked: "Still days a month",
        figure: number::estimate(s.season.still_days_per_month, 2, "±"),
        beside,
    }
}

fn dusk(s: &Summary) -> Option<Answer> {
    let d = s.season.dusk_run_min.as_ref()?;
    let beside = match s.season.wish_dusk_run_min > 0.0 {
        true => format!(
            "on half of the evenings; {} reach {}{} min{}",
            number::percent(d.meets_wish),
            words::asked_for(s),
            number::fixed(s.season.wish_dusk_run_min, 0),
            words::asked_suffix(s)
        ),
        false => "or more, on half of the evenings".to_owned(),
    };
    Some(Answer { asked: "After sunset", figure: format!("{} min", words::dusk_median(d)), beside })
}

fn jet(s: &Summary) -> Answer {
    let hours = |minutes: f64| number::grouped((minutes / 60.0).round().max(0.0) as u64);
    let share = if s.season.wanted_min > 0.0 {
        number::percent(s.season.jet_min.mean / s.season.wanted_min)
    } else {
        number::NOT_COMPUTABLE.to_owned()
    };
    let beside = format!("of {} wanted hours a season", hours(s.season.wanted_min));
    Answer { asked: "Jet runs in", figure: share, beside }
}

fn why(s: &Summary) -> Option<Answer> {
    let list = words::ranked(&s.season.causes_min);
    let all: f64 = list.iter().map(|(_, minutes)| minutes).sum();
    let (chief, minutes) = list.first()?;
    let beside = format!("{} of the time without a jet", number::percent(minutes / all));
    Some(Answer { asked: "Chief cause", figure: words::cause(chief), beside })
}

fn battery(s: &Summary) -> Option<Answer> {
    let life = s.battery.as_ref()?.life.as_ref()?;
    Some(Answer {
        asked: "Battery lasts",
        figure: words::years_text(life.p50),
        beside: words::life_range(life),
    })
}

fn water(s: &Summary, units: System) -> Answer {
    let (mean, unit) = words::water::weekly(s, units, "±");
    Answer {
        asked: "Water lost",
        figure: format!("{mean} {unit} a week"),
        beside: words::water::soonest_low(s),
    }
}

/// The part whose value is worth measuring most.
fn measure(s: &Summary) -> Option<Answer> {
    let share = |x: &crate::tally::summary::Share| x.still_days.map_or(0.0, |e| e.mean);
    let parts = s.shares.iter().filter(|x| x.key.contains('.'));
    let first = parts.max_by(|a, b| share(a).total_cmp(&share(b))).filter(|x| share(x) > 0.0)?;
    let beside = format!("{} of the spread of still days", number::percent(share(first)));
    Some(Answer { asked: "Measure first", figure: words::key_in_words(&first.key), beside })
}

fn price(s: &Summary) -> Option<Answer> {
    let price = s.design.price?;
    Some(Answer {
        asked: "Price of the parts",
        figure: words::money::price(price, s.design.currency.as_deref()),
        beside: String::new(),
    })
}
