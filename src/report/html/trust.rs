//! The section on errors, balances and what is not modelled.

use super::parts::{Key, Section, Table, bullets, figure, key, table, untrusted};
use crate::report::chart::{Bar, Line, Plot, Scale, bars, line, svg};
use crate::report::{number, words};
use crate::tally::Summary;
use crate::tally::summary::{Estimate, SampledMonth};
use maud::{Markup, html};

/// What no run of this program knows.
const NOT_MODELLED: [&str; 7] = [
    "Snow, dirt that builds up, and shade from things nearer than the skyline, unless the design says so.",
    "Wear: the panel, the pump and the battery are as new as the design says, all season.",
    "Faults of wiring, corroded joints, leaks, blocked strainers and curious animals.",
    "Water that plants or animals take, and rain that runs into the basin from around it.",
    "A climate that changes: the years are drawn from the weather file as it stands.",
    "Ice: a basin that freezes stops the jet whatever the battery holds.",
    "The makers’ own charge electronics, except by the voltages and currents in the design.",
];

pub(super) fn section(s: &Summary) -> Section {
    let body = html! {
        div class="figs" {
            @if !s.sampled.is_empty() { (sampled(s)) }
            div { (table(&measures(s))) }
        }
        @if !s.warnings.is_empty() { h3 { "Warnings" } (bullets("warn", &s.warnings)) }
        h3 { "What is not modelled" }
        ul class="list" { @for line in NOT_MODELLED { li { (line) } } }
        @if let Some(sizing) = &s.sizing { h3 { "Handbook sizing figures" } (handbook(sizing)) }
    };
    let remark = html! {
        "The ± error falls with the square root of the trials: four times as many trials halve it. It does not cover what the model leaves out. Means of still days are corrected, where there are enough trials, for how dull the drawn seasons and how good the drawn parts were, whose averages are known; so they differ a little from the mean of the counts."
    };
    Section::new("trust", "Can you trust it?", remark, body)
}

fn measures(s: &Summary) -> Table {
    let mut t = Table { words: true, ..Table::new(&["Check", "Result"]) };
    let mut row = |name: &str, value: String| t.row([name.to_owned(), value]);
    row("Trials, each one season", number::grouped(s.run.trials));
    row("Days simulated", number::grouped(s.run.days));
    row(
        "Error of still days a month",
        number::error(s.season.still_days_per_month, 3)
            .map_or(number::NOT_COMPUTABLE.to_owned(), |e| format!("± {e} days")),
    );
    if let Some(r) = &s.weather_input {
        row(
            "The same at places like this, from such weather files (80 %)",
            format!("{} days", words::input::range(r.still_days_per_month, 2)),
        );
        if let Some(minutes) = r.dusk_run_min {
            row("Mean dusk run at such places (80 %)", format!("{} min", words::input::range(minutes, 0)));
        }
        row("Years that meet the wish at such places (80 %)", words::input::years(r.years_met));
    }
    // Against trials: as the square root of their number.
    let of_now = s.season.still_days_per_month;
    for (times, root) in [(4, 2.0), (100, 10.0)] {
        let then = Estimate::new(of_now.mean, of_now.se.map(|se| se / root));
        if let Some(e) = number::error(then, 4) {
            row(
                &format!("… with {} trials, about", number::grouped(times * s.run.trials)),
                format!("± {e} days"),
            );
        }
    }
    let tiny = number::scientific;
    row("Largest error of a day’s energy balance", format!("{} Wh", tiny(s.ledger.worst_residual_wh)));
    row("the same, as a share of the day’s energy", tiny(s.ledger.worst_relative));
    row("Largest error of the charge balance", format!("{} Ah", tiny(s.ledger.worst_charge_residual_ah)));
    row("Largest error of the water balance", format!("{} L", tiny(s.ledger.worst_water_residual_l)));
    row(
        "Energy of the panel beyond what its label gives in its light",
        format!("{} Wh", tiny(s.ledger.worst_over_label_wh)),
    );
    let w = &s.weather;
    row("The file’s light matches the sun best at", words::closure_offset(w.closure_offset_min));
    row(
        "Beam and diffuse against the file’s global, rms",
        w.closure_rms_w_m2
            .map_or(number::NOT_COMPUTABLE.to_owned(), |v| format!("{} W/m²", number::two_digits(v))),
    );
    t
}

fn sampled(s: &Summary) -> Markup {
    let n = s.sampled.len();
    let top = s
        .sampled
        .iter()
        .flat_map(|m| [m.file_ghi_kwh_m2_day, Some(m.sampled_ghi_kwh_m2_day.mean)])
        .flatten()
        .fold(0.0, f64::max);
    let plot = Plot::new(250.0, (0.0, n.max(1) as f64), (0.0, Scale::round_up(top, 5)));
    let list: Vec<Bar> = s
        .sampled
        .iter()
        .enumerate()
        .filter_map(|(i, m)| Some(Bar { x: i as f64 + 0.5, mean: m.file_ghi_kwh_m2_day?, spread: None }))
        .collect();
    let labels: Vec<(f64, &str)> =
        s.sampled.iter().enumerate().map(|(i, m)| (i as f64 + 0.5, words::month_short(m.month))).collect();
    let drawing = html! {
        (plot.y_axis("sunshine on the horizontal, kWh/m² a day", 5))
        (bars(&plot, "bar pale", &list, 0.62))
        @for (i, m) in s.sampled.iter().enumerate() {
            @let (x, y) = (i as f64 + 0.5, Some(m.sampled_ghi_kwh_m2_day.mean));
            (line(&plot, &Line { class: "", points: vec![(x - 0.4, y), (x + 0.4, y)] }))
        }
        (plot.x_axis("", labels))
    };
    let off = |m: &SampledMonth| {
        let file = m.file_ghi_kwh_m2_day.filter(|file| *file > 0.0)?;
        Some(m.sampled_ghi_kwh_m2_day.mean / file - 1.0)
    };
    let in_file = |m: &SampledMonth| {
        m.file_ghi_kwh_m2_day.map_or(number::NOT_COMPUTABLE.to_owned(), |v| number::fixed(v, 2))
    };
    let mut t = Table::new(&["", "file, kWh/m² d", "sampled", "differs by", "varies between years by"]);
    for m in &s.sampled {
        t.row([
            words::month(m.month).to_owned(),
            in_file(m),
            number::estimate(m.sampled_ghi_kwh_m2_day, 3, "±"),
            off(m).map_or(number::NOT_COMPUTABLE.to_owned(), signed_percent),
            m.sampled_cov.map_or(number::NOT_COMPUTABLE.to_owned(), number::percent),
        ]);
    }
    let hits: Vec<_> = s
        .sampled
        .iter()
        .enumerate()
        .map(|(i, m)| {
            let text = format!(
                "{}: file {}, sampled {} kWh/m² a day",
                words::month(m.month),
                in_file(m),
                number::estimate(m.sampled_ghi_kwh_m2_day, 3, "±")
            );
            plot.strip(i as f64, i as f64 + 1.0, text)
        })
        .collect();
    let known = s.sampled.iter().filter_map(|m| Some((m.month, off(m)?)));
    let finding = match known.max_by(|a, b| a.1.abs().total_cmp(&b.1.abs())) {
        Some((_, off)) if signed_percent(off) == "0.0 %" => {
            "Sampled sunshine agrees with the file in every month".to_owned()
        }
        Some((month, off)) => format!(
            "Sampled sunshine differs most from the file in {}, by {}",
            words::month(month),
            signed_percent(off)
        ),
        None => "The file has no sunshine in the season to compare the sampled years with".to_owned(),
    };
    let keys = key(&[
        Key { class: "bar pale", line: false, text: "weather file".to_owned() },
        Key { class: "", line: true, text: "sampled years, mean".to_owned() },
    ]);
    figure(
        &finding,
        &svg(250.0, &format!("Sunshine by month, file and sampled. {finding}"), &drawing, &hits),
        Some(&keys),
        &t,
    )
}

fn signed_percent(share: f64) -> String {
    let text = number::fixed(share * 100.0, 1);
    if share > 0.0 && text != "0.0" {
        format!("+{text} %")
    } else {
        format!("{} %", text.replace('-', "−"))
    }
}

fn handbook(z: &crate::tally::summary::Sizing) -> Markup {
    let maybe = |v: Option<f64>| v.map_or(number::NOT_COMPUTABLE.to_owned(), number::two_digits);
    let mut t = Table { words: true, ..Table::new(&["Figure", "Value"]) };
    t.row(["Wanted, Wh a day".to_owned(), number::two_digits(z.load_wh_day)]);
    t.row([
        format!("Panel in {}, Wh a day", words::month(z.worst_month)),
        number::two_digits(z.array_wh_day_worst_month),
    ]);
    t.row(["Panel to load in that month".to_owned(), number::fixed(z.array_to_load, 2)]);
    t.row(["C_A, panel over load".to_owned(), number::fixed(z.c_a, 2)]);
    t.row(["C_S, battery over load".to_owned(), maybe(z.c_s)]);
    t.row(["Days of autonomy".to_owned(), maybe(z.days_of_autonomy)]);
    t.row([
        "Loss-of-load probability, simulated".to_owned(),
        z.loss_of_load.map_or(number::NOT_COMPUTABLE.to_owned(), |e| number::percent_estimate(e, "±")),
    ]);
    html! { (table(&t)) p class="note" { (untrusted("These figures size a panel and a battery from means. They cannot tell how often the jet stands still; that is why the days are simulated.")) } }
}
