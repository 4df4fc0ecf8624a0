//! A run: the verdict first, then a table of months, then the details.

use super::screen::{Screen, WATER};
use super::wrap::{cut, pad, right};
use crate::report::style::Style;
use crate::report::{number, words};
use crate::tally::Summary;
use crate::tally::summary::{BatteryUse, Estimate, Month};
use std::time::Duration;

/// A run in a dozen lines and a table, ending in a newline; `took`: how long it took, if that is to be said.
pub fn run(summary: &Summary, took: Option<Duration>, style: Style) -> String {
    let mut screen = Screen::new(style);
    screen.heading(summary);
    screen.verdict(summary);
    screen.months(&summary.months);
    if let Some(battery) = &summary.battery {
        screen.wrapped("Battery", &battery_line(battery, style.pm()));
    }
    if let Some(surface) = &summary.panel_surface {
        screen.wrapped("Panel", &words::panel_surface(surface, style.pm()));
    }
    screen.wrapped("No jet", &causes_line(summary, style.pm()));
    screen.wrapped("Water", &water_line(summary, style));
    if let Some(text) = words::weather_files(summary) {
        screen.wrapped("Weather", &text);
    }
    screen.wrapped("Check", &ledger_line(summary, took));
    for warning in &summary.warnings {
        screen.flagged("Warning", warning);
    }
    screen.cautions(&summary.cautions);
    screen.out
}

impl Screen {
    fn verdict(&mut self, s: &Summary) {
        let pm = self.style.pm();
        let text = format!(
            "{} {} {} {}",
            words::wish_verdict(s),
            words::still_verdict(s, pm),
            words::dusk_verdict(s, pm),
            words::battery_verdict(s, pm)
        );
        self.bold(&text);
        self.blank();
    }

    /// Month, mean still days and its error, a bar (full to the mean, light on to P90), P10 to
    /// P90, short days, median dusk run, chief cause.
    fn months(&mut self, months: &[Month]) {
        let decimals = number::column_decimals(months.iter().map(|m| words::mean_of(&m.still_days)), 2);
        let still: Vec<String> = months
            .iter()
            .map(|m| number::estimate_to(words::mean_of(&m.still_days), decimals, 2, self.style.pm()))
            .map(|text| text.replace(" to ", ".."))
            .collect();
        let wide = still.iter().map(|text| text.chars().count()).fold(12, usize::max) + 1;
        let columns = Columns::new(self.style.columns(), wide);
        let head = format!(
            "{:4}{:>wide$} {:bar$}  {:>8} {:>6} {:>8}  {}",
            "",
            "still days",
            "",
            "P10..P90",
            "short",
            "dusk run",
            if columns.cause > 0 { "main cause" } else { "" },
            bar = columns.bar
        );
        self.dim(&head);
        let most = months.iter().map(|m| m.still_days.p90.max(m.still_days.mean)).fold(1.0, f64::max);
        for (m, still) in months.iter().zip(&still) {
            if m.wanted_min <= 0.0 {
                self.line(&format!("{:4} nothing is wanted in this month", words::month_short(m.month)));
                continue;
            }
            let bar = bar(m.still_days.mean / most, m.still_days.p90 / most, columns.bar, self.style.unicode);
            let spread =
                format!("{}..{}", number::fixed(m.still_days.p10, 0), number::fixed(m.still_days.p90, 0));
            let short = number::mean(words::mean_of(&m.short_days), 1);
            let dusk = m
                .dusk_run_min
                .as_ref()
                .map_or("no sunset".to_owned(), |d| format!("{} min", words::dusk_median(d)));
            let cause = words::chief_cause(m).unwrap_or_default();
            let cause = cut(&self.encoded(&cause), columns.cause);
            let line = format!(
                "{:4}{} {}  {spread:>8} {short:>6} {dusk:>8}  {cause}",
                words::month_short(m.month),
                right(still, wide),
                self.style.paint(WATER, &bar),
            );
            self.line(&line);
        }
        self.blank();
    }
}

struct Columns {
    bar: usize,
    cause: usize,
}

impl Columns {
    /// What the other columns leave (33, and `still` for the still days), shared between bar and cause.
    fn new(width: usize, still: usize) -> Self {
        let left = width.saturating_sub(33 + still);
        let cause = if left >= 16 { (left - 8).min(26) } else { 0 };
        Columns { bar: (left - cause).clamp(2, 30), cause }
    }
}

fn battery_line(b: &BatteryUse, pm: &str) -> String {
    let mut line = format!(
        "median depth of discharge {} a day (P10 {}, P90 {}); {} full cycles a year, which use {} of its life",
        number::percent(b.daily_depth.p50),
        number::percent(b.daily_depth.p10),
        number::percent(b.daily_depth.p90),
        number::estimate(b.equivalent_full_cycles_per_year, 0, pm),
        number::percent_estimate(b.life_used_per_year, pm),
    );
    if b.too_cold_h_per_year > 0.0 {
        let hours = number::estimate(b.too_cold_h(), usize::from(b.too_cold_h_per_year < 10.0), pm);
        line.push_str(&format!("; too cold to charge in {hours} h of daylight a year"));
    }
    line.push('.');
    line
}

fn causes_line(s: &Summary, pm: &str) -> String {
    let list = words::ranked(&s.season.causes_min);
    let missing: f64 = list.iter().map(|(_, min)| min).sum();
    if list.is_empty() {
        return "never: every wanted minute had a jet.".to_owned();
    }
    let parts: Vec<String> = list
        .iter()
        .take(4)
        .map(|(key, _)| {
            let share =
                words::within(&s.season.causes_min, &s.season.causes_min_95, key).times(1.0 / missing);
            // A share of what is missing is no more than all of it.
            let interval_95 = share.interval_95.map(|[lo, hi]| [lo, hi.min(1.0)]);
            let share = Estimate { interval_95, ..share };
            format!("{} {}", words::cause(key), number::percent_estimate(share, pm))
        })
        .collect();
    let rest = if list.len() > 4 { ", and others" } else { "" };
    // Wanted minutes are certain, so what is missing is as uncertain as the jet.
    let jet = s.season.jet_min;
    let gone = Estimate {
        mean: missing,
        interval_95: jet.interval_95.map(|[lo, hi]| [missing - (hi - jet.mean), missing + (jet.mean - lo)]),
        ..jet
    };
    format!(
        "in {} of {} wanted hours. Causes: {}{rest}.",
        number::estimate(gone.times(1.0 / 60.0), 0, pm),
        number::grouped((s.season.wanted_min / 60.0).round().max(0.0) as u64),
        parts.join(", ")
    )
}

fn water_line(s: &Summary, style: Style) -> String {
    format!("{} {}", words::water::lost(s, style.units, style.pm()), words::water::low_water(s))
}

fn ledger_line(s: &Summary, took: Option<Duration>) -> String {
    let pace = match took.map(|t| t.as_secs_f64()) {
        Some(seconds) if seconds > 0.0 => format!(
            " in {} s ({} days a second)",
            number::two_digits(seconds),
            number::grouped((s.run.days as f64 / seconds) as u64)
        ),
        _ => String::new(),
    };
    format!(
        "the energy balance of each day closes to {:.0e} Wh; {} days simulated{pace}.",
        s.ledger.worst_residual_wh,
        number::grouped(s.run.days)
    )
}

/// A bar of `width` columns: solid to `mean`, light on to `p90` (shares of the width).
pub(super) fn bar(mean: f64, p90: f64, width: usize, unicode: bool) -> String {
    let cells = |share: f64| (share.clamp(0.0, 1.0) * width as f64 * 2.0).round() as usize;
    let (solid, light) = (cells(mean), cells(p90) / 2);
    let (full, half, tail) = if unicode { ('█', "▌", '░') } else { ('#', "", '.') };
    let mut out: String = std::iter::repeat_n(full, solid / 2).collect();
    if solid % 2 == 1 {
        out.push_str(half);
    }
    while out.chars().count() < light {
        out.push(tail);
    }
    pad(&out, width)
}
