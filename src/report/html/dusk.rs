//! Dusk run: how long the jet runs after sunset.

use super::parts::{Key, Section, Table, figure, key};
use crate::report::chart::{Line, Plot, line, svg};
use crate::report::{number, words};
use crate::tally::Summary;
use crate::tally::summary::{Minutes, Month};
use maud::{Markup, html};

pub(super) fn section(s: &Summary) -> Option<Section> {
    let season = s.season.dusk_run_min.as_ref()?;
    let body = exceedance(s, season);
    let remark = html! {
        "Minutes the jet runs after sunset before it first stops. A gap of up to five minutes does not count as a stop. Zero if the jet is not running at sunset. "
        @if let Some(when) = words::let_run(s) { (when) " " }
        @if let Some(cut) = words::dusk_cut(season) { (cut) "; such a run counts as long as it was seen, so it is “at least”." }
    };
    Some(Section::new("dusk", "Dusk run", remark, body))
}

/// Dusk runs by month, folded away.
pub(super) fn months(s: &Summary) -> Markup {
    html! { details { summary { "Dusk run by month" } (by_month(s)) } }
}

/// Share of evenings that reach each whole step.
fn share_reaching(m: &Minutes) -> Vec<f64> {
    let total = m.histogram.iter().sum::<u64>().max(1) as f64;
    let mut left = m.histogram.iter().sum::<u64>();
    let mut shares = Vec::with_capacity(m.histogram.len());
    for n in &m.histogram {
        shares.push(left as f64 / total);
        left -= n;
    }
    shares
}

fn shortest_and_longest(s: &Summary) -> Vec<(&Month, &Minutes)> {
    let mut list: Vec<(&Month, &Minutes)> =
        s.months.iter().filter_map(|m| m.dusk_run_min.as_ref().map(|d| (m, d))).collect();
    list.sort_by(|a, b| a.1.mean.total_cmp(&b.1.mean));
    if list.len() > 2 {
        list = vec![list[0], list[list.len() - 1]];
    }
    list
}

fn exceedance(s: &Summary, season: &Minutes) -> Markup {
    let shares = share_reaching(season);
    let months = shortest_and_longest(s);
    let step = season.step_min;
    let used = |m: &Minutes| m.histogram.iter().rposition(|n| *n > 0).unwrap_or(0) + 1;
    let last =
        months.iter().map(|(_, m)| used(m)).chain([used(season)]).max().unwrap_or(1).max(6).min(shares.len());
    let plot = Plot::new(250.0, (0.0, last as f64 * step), (0.0, 1.0));
    let points = |shares: &[f64]| {
        (0..).zip(shares.iter().take(last + 1)).map(|(i, p)| (f64::from(i) * step, Some(*p))).collect()
    };
    let classes = ["sun dash", "soft"];
    let wish = s.season.wish_dusk_run_min;
    let drawing = html! {
        (plot.y_axis("evenings that reach it, %", 5))
        @for ((_, m), class) in months.iter().zip(classes) { (line(&plot, &Line { class, points: points(&share_reaching(m)) })) }
        (line(&plot, &Line { class: "", points: points(&shares) }))
        @if wish > 0.0 && wish < plot.x.hi {
            (line(&plot, &Line { class: "mark", points: vec![(wish, Some(0.0)), (wish, Some(1.0))] }))
            text class="lab" x=(plot.x.at(wish) + 4.0) y=(plot.top + 10.0) { "wish" }
        }
        (plot.x_numbers("minutes after sunset", 6, number::fixed))
    };
    let hits: Vec<_> = (0..last)
        .map(|i| {
            let at = i as f64 * step;
            let share = |m: &Minutes| number::percent(share_reaching(m).get(i).copied().unwrap_or(0.0));
            let others: Vec<String> =
                months.iter().map(|(m, d)| format!("{} {}", words::month(m.month), share(d))).collect();
            let text = format!(
                "{} min or more: {} of evenings ({})",
                number::fixed(at, 0),
                share(season),
                others.join(", ")
            );
            plot.strip((at - step / 2.0).max(0.0), at + step / 2.0, text)
        })
        .collect();
    let mut entries = vec![Key { class: "", line: true, text: "season".to_owned() }];
    entries.extend(months.iter().zip(classes).map(|((m, _), class)| Key {
        class,
        line: true,
        text: words::month(m.month).to_owned(),
    }));
    let mut t = Table::new(&["minutes", "season"]);
    t.head.extend(s.months.iter().map(|m| words::month_short(m.month).to_owned()));
    let columns: Vec<Option<Vec<f64>>> =
        s.months.iter().map(|m| m.dusk_run_min.as_ref().map(share_reaching)).collect();
    for (i, share) in shares.iter().enumerate().take(last) {
        let months = columns.iter().map(|c| {
            c.as_ref().map_or("no sunset".to_owned(), |c| number::percent(c.get(i).copied().unwrap_or(0.0)))
        });
        t.row([number::fixed(i as f64 * step, 0), number::percent(*share)].into_iter().chain(months));
    }
    let finding = finding(s, season);
    let alternative =
        format!("Curve of the share of evenings by minutes the jet reaches after sunset. {finding}");
    figure(&finding, &svg(250.0, &alternative, &drawing, &hits), Some(&key(&entries)), &t)
}

fn finding(s: &Summary, season: &Minutes) -> String {
    let minutes = |m: f64| number::fixed(m, 0);
    let run = if season.p50 < 0.5 && season.cut_by_hours > 0.5 {
        "On most evenings the hours of the pump end by sunset".to_owned()
    } else if season.p90 < 0.5 {
        "On nine evenings out of ten the jet has stopped by sunset".to_owned()
    } else if season.p50 < 0.5 {
        "On half of the evenings the jet has stopped by sunset".to_owned()
    } else if season.p10 >= 0.5 && minutes(season.p10) == minutes(season.p50) {
        format!(
            "On nine evenings out of ten the jet runs for {} minutes or more after sunset",
            minutes(season.p10)
        )
    } else {
        format!(
            "On half of the evenings the jet runs for {} minutes or more after sunset",
            minutes(season.p50)
        )
    };
    if s.season.wish_dusk_run_min <= 0.0 {
        return run;
    }
    let wish = minutes(s.season.wish_dusk_run_min);
    let (the, asked) = (words::asked_for(s), words::asked_suffix(s));
    match season.meets_wish {
        0.0 => format!("{run}; none reaches {the}{wish}{asked}"),
        1.0 => format!("{run}; all reach {the}{wish}{asked}"),
        _ => format!("{run}; {} reach {the}{wish}{asked}", number::percent_estimate(season.met(), "±")),
    }
}

/// Median and spread by month.
fn by_month(s: &Summary) -> Markup {
    use crate::report::chart::{Bar, Scale, bars};
    let list: Vec<(usize, &Month, &Minutes)> =
        s.months.iter().enumerate().filter_map(|(i, m)| m.dusk_run_min.as_ref().map(|d| (i, m, d))).collect();
    let top = list.iter().map(|(_, _, d)| d.p90).fold(s.season.wish_dusk_run_min, f64::max);
    let plot = Plot::new(250.0, (0.0, s.months.len().max(1) as f64), (0.0, Scale::round_up(top, 5)));
    let marks: Vec<Bar> = list
        .iter()
        .map(|(i, _, d)| Bar { x: *i as f64 + 0.5, mean: d.p50, spread: Some((d.p10, d.p90)) })
        .collect();
    let labels: Vec<(f64, &str)> =
        s.months.iter().enumerate().map(|(i, m)| (i as f64 + 0.5, words::month_short(m.month))).collect();
    let wish = s.season.wish_dusk_run_min;
    let drawing = html! {
        (plot.y_axis("minutes: median, P10 to P90", 5))
        (bars(&plot, "bar", &marks, 0.56))
        @if wish > 0.0 {
            (line(&plot, &Line { class: "mark", points: vec![(0.0, Some(wish)), (plot.x.hi, Some(wish))] }))
        }
        (plot.x_axis("", labels))
    };
    let mut t = Table::new(&["", "mean, min", "P10", "P50", "P90", "reach the wish", "cut off by the hours"]);
    let mut row = |name: &str, d: &Minutes| {
        t.row([
            name.to_owned(),
            number::estimate(words::mean_minutes(d), 1, "±"),
            number::whole_within(d.p10, d.p10_95),
            number::whole_within(d.p50, d.p50_95),
            number::whole_within(d.p90, d.p90_95),
            if wish > 0.0 { number::percent_estimate(d.met(), "±") } else { "–".to_owned() },
            number::percent_estimate(d.cut(), "±"),
        ]);
    };
    for (_, m, d) in &list {
        row(words::month(m.month), d);
    }
    if let Some(d) = &s.season.dusk_run_min {
        row("Season", d);
    }
    let hits: Vec<_> = list
        .iter()
        .map(|(i, m, d)| {
            let text = format!(
                "{}: median {} min, P10 to P90 {} to {}; {} reach the wish, {} are cut off by the hours.",
                words::month(m.month),
                words::dusk_median(d),
                number::fixed(d.p10, 0),
                number::fixed(d.p90, 0),
                number::percent(d.meets_wish),
                number::percent(d.cut_by_hours)
            );
            plot.strip(*i as f64, *i as f64 + 1.0, text)
        })
        .collect();
    let by = |a: &&(usize, &Month, &Minutes), b: &&(usize, &Month, &Minutes)| a.2.mean.total_cmp(&b.2.mean);
    let run = |m: &Minutes| match m.p50 {
        p if p < 0.5 => "zero".to_owned(),
        p => format!("{} minutes", number::fixed(p, 0)),
    };
    let finding = match (list.iter().max_by(by), list.iter().min_by(by)) {
        (Some(long), Some(short)) if run(long.2) != run(short.2) => format!(
            "The median dusk run is longest in {} ({}) and shortest in {} ({})",
            words::month(long.1.month),
            run(long.2),
            words::month(short.1.month),
            run(short.2)
        ),
        (Some(only), _) if list.len() == 1 => {
            format!("The median dusk run of {} is {}", words::month(only.1.month), run(only.2))
        }
        (Some(all), _) => format!("The median dusk run is {} in every month", run(all.2)),
        (None, _) => "No month has a sunset".to_owned(),
    };
    let alternative = format!("Bar chart of the median dusk run by month with P10 to P90. {finding}");
    let text = format!("{}{} minutes{}", words::asked_for(s), number::fixed(wish, 0), words::asked_suffix(s));
    let marks = key(&[Key { class: "mark", line: true, text }]);
    figure(&finding, &svg(250.0, &alternative, &drawing, &hits), (wish > 0.0).then_some(&marks), &t)
}
