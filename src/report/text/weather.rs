//! A weather file, and sampled years compared with it, for a terminal.

use super::screen::Screen;
use super::wrap::{cut, right};
use crate::report::style::Style;
use crate::report::weather::{FileAndSampled, PoolAndSampled};
use crate::report::words::weather::{
    NONE, air, clear_sky, clock, days, difference, dull_days, hours, kind, likeness, place,
};
use crate::report::{number, words};
use crate::sky::calendar::HOURS;
use crate::study::sampled_years::{MonthVsFile, SampledVsFile};
use crate::weather::file::describe::{Description, MonthNumbers};

/// One file in a screen or two, ending in a newline.
pub fn weather(of: &FileAndSampled, style: Style) -> String {
    let (file, sampled) = (&of.file, &of.sampled);
    let mut screen = Screen::new(style);
    screen.weather_heading(file);
    screen.file_items(file);
    screen.blank();
    screen.file_months(file);
    screen.blank();
    screen.sampled_heading("this file, compared with it", sampled);
    screen.sampled_months(sampled);
    screen.blank();
    screen.spells(sampled);
    screen.blank();
    screen.sampled_items(sampled);
    for warning in &file.warnings {
        screen.flagged("Warning", warning);
    }
    screen.out
}

/// Years sampled from several files together, ending in a newline.
pub fn weather_pool(pool: &PoolAndSampled, style: Style) -> String {
    let mut screen = Screen::new(style);
    screen.sampled_heading(&format!("all {} files together, compared with them", pool.files), &pool.sampled);
    screen.sampled_months(&pool.sampled);
    screen.blank();
    screen.spells(&pool.sampled);
    screen.blank();
    screen.sampled_items(&pool.sampled);
    screen.out
}

impl Screen {
    fn weather_heading(&mut self, d: &Description) {
        let name = cut(&self.encoded(&words::escaped(&d.path)), self.style.columns());
        self.bold(&name);
        if d.invented {
            self.wrapped("", "This weather is invented or synthesised: nobody measured it.");
        }
        self.blank();
    }

    fn file_items(&mut self, d: &Description) {
        let origin = words::escaped(&d.origin);
        self.wrapped("Source", &format!("{}; {origin}", d.format));
        if !d.invented {
            self.wrapped("Year", kind(d.kind));
        }
        self.wrapped("Place", &place(d));
        self.wrapped("Hours", &hours(d));
        self.wrapped(
            "Light",
            &format!(
                "kWh/m² {}: {} on level ground (GHI), {} direct from the sun on a surface that faces it (DNI), {} from the sky on level ground (DHI).",
                if d.usable_hours == HOURS { "a year" } else { "over the hours present" },
                number::fixed(d.ghi_kwh_m2, 0),
                number::fixed(d.dni_kwh_m2, 0),
                number::fixed(d.dhi_kwh_m2, 0),
            ),
        );
        self.wrapped("Dull days", &dull_days(d));
        self.wrapped("Air", &air(d));
        self.wrapped("Clock", &clock(d));
        self.wrapped("Clear sky", &clear_sky(d));
    }

    /// Whole days, GHI, DNI, clearness, air and turbidity of each month.
    fn file_months(&mut self, d: &Description) {
        self.dim(&format!(
            "{:4}{:>5}{:>12}{:>12}{:>10}{:>6}{:>11}",
            "", "whole", "GHI a day", "DNI a day", "clearness", "air", "turbidity"
        ));
        self.dim(&format!(
            "{:4}{:>5}{:>12}{:>12}{:>10}{:>6}{:>11}",
            "", "days", "kWh/m²", "kWh/m²", "share", "°C", "Linke"
        ));
        for (m, turbidity) in d.months.iter().zip(d.turbidity) {
            let MonthNumbers { month, days, ghi_kwh_m2_day, dni_kwh_m2_day, clearness, air_c } = *m;
            let line = format!(
                "{:4}{days:>5}{}{}{}{}{}",
                words::month_short(month as u8),
                right(&or_none(ghi_kwh_m2_day, 2), 12),
                right(&or_none(dni_kwh_m2_day, 2), 12),
                right(&or_none(clearness, 2), 10),
                right(&or_none(air_c, 1), 6),
                right(&number::fixed(turbidity, 1), 11),
            );
            self.line(&line);
        }
    }

    fn sampled_heading(&mut self, from: &str, s: &SampledVsFile) {
        self.two_ends(&format!("Years sampled from {from}"), &format!("seed {}", s.seed));
        self.wrapped(
            "",
            &format!(
                "{} years minute by minute, and {} years day by day for spread and dull spells. Spread is the coefficient of variation of a month's GHI between years. By chance alone, a month's sampled mean is off by about {} of its spread.",
                s.minute_years,
                s.daily_years,
                number::percent(1.0 / (s.minute_years as f64).sqrt())
            ),
        );
        self.blank();
    }

    fn sampled_months(&mut self, s: &SampledVsFile) {
        self.dim(&format!(
            "{:4}{:>11}{:>11}{:>11}  {:>10}{:>11}",
            "", "file GHI", "sampled", "differ by", "spread", "aimed at"
        ));
        self.dim(&format!(
            "{:4}{:>11}{:>11}{:>11}  {:>10}{:>11}",
            "", "kWh/m²/day", "kWh/m²/day", "", "sampled", ""
        ));
        for m in &s.months {
            let MonthVsFile { month, file_ghi_kwh_m2_d, sampled_ghi_kwh_m2_d, variation, wanted_variation } =
                *m;
            let row = [
                or_none(file_ghi_kwh_m2_d, 2),
                number::fixed(sampled_ghi_kwh_m2_d, 2),
                difference(file_ghi_kwh_m2_d, sampled_ghi_kwh_m2_d),
                number::percent(variation),
                wanted_variation.map_or(NONE.to_owned(), number::percent),
            ];
            self.row(words::month_short(month), &row);
        }
        let row = [
            number::fixed(s.file_ghi_kwh_m2, 0),
            number::fixed(s.sampled_ghi_kwh_m2, 0),
            difference(Some(s.file_ghi_kwh_m2), s.sampled_ghi_kwh_m2),
            number::percent(s.annual_variation),
            s.wanted_annual_variation.map_or(NONE.to_owned(), number::percent),
        ];
        self.row("Year", &row);
        let above = |m: &&MonthVsFile| m.wanted_variation.is_some_and(|w| m.variation > 1.2 * w);
        let above: Vec<&str> = s.months.iter().filter(above).map(|m| words::month_short(m.month)).collect();
        if !above.is_empty() {
            self.wrapped(
                "",
                &format!(
                    "Spread above the target ({}): dull and bright spells of the file last so long that its months differ by more. This is kept, so that dull spells are as long as in records.",
                    above.join(", ")
                ),
            );
        }
    }

    fn row(&mut self, name: &str, [file, sampled, differ, spread, wanted]: &[String; 5]) {
        let line = format!(
            "{name:4}{}{}{}  {}{}",
            right(file, 11),
            right(sampled, 11),
            right(differ, 11),
            right(spread, 10),
            right(wanted, 11)
        );
        self.line(&line);
    }

    fn spells(&mut self, s: &SampledVsFile) {
        self.dim("Longest run of dull days, by how dull, days");
        self.dim(&format!(
            "{:15}{:>5} {:>8}{:>11}{:>10}{:>10}",
            "", "file", "a year's", "9 years of", "10 years'", "30 years'"
        ));
        self.dim(&format!(
            "{:15}{:>5} {:>8}{:>11}{:>10}{:>10}",
            "", "", "median", "10 at most", "median", "median"
        ));
        for spell in &s.spells {
            let line = format!(
                "{:15}{:>5} {:>8}{:>11}{:>10}{:>10}",
                format!("clearness < {}", spell.clearness_below),
                spell.file_longest,
                days(spell.median),
                days(spell.p90),
                days(spell.longest_in_10_years),
                days(spell.longest_in_30_years),
            );
            self.line(&line);
        }
    }

    fn sampled_items(&mut self, s: &SampledVsFile) {
        for (name, text) in ["Day to day", "Daily sums", "Sunshine", "Ramps"].into_iter().zip(likeness(s)) {
            self.wrapped(name, &text);
        }
    }
}

fn or_none(x: Option<f64>, decimals: usize) -> String {
    x.filter(|x| x.is_finite()).map_or(NONE.to_owned(), |x| number::fixed(x, decimals))
}
