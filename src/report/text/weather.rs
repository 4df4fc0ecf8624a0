//! A weather file, and sampled years compared with it, for a terminal.

use super::screen::Screen;
use super::wrap::{cut, right};
use crate::report::style::Style;
use crate::report::weather::{FileAndSampled, PoolAndSampled};
use crate::report::{number, words};
use crate::sky::calendar::{DAYS, HOURS};
use crate::study::sampled_years::{MonthVsFile, SampledVsFile};
use crate::weather::YearKind;
use crate::weather::file::describe::{DULL_BELOW, Description, MonthNumbers};

/// Stretches of missing hours that are named on a terminal.
const GAPS_SHOWN: usize = 4;
/// What stands for a number that is not there in a table.
const NONE: &str = "-";

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
            "{:4}{:>5}{:>14}{:>14}{:>11}{:>9}{:>11}",
            "", "whole", "GHI a day", "DNI a day", "clearness", "air", "turbidity"
        ));
        self.dim(&format!(
            "{:4}{:>5}{:>14}{:>14}{:>11}{:>9}{:>11}",
            "", "days", "kWh/m²", "kWh/m²", "share", "°C", "Linke"
        ));
        for (m, turbidity) in d.months.iter().zip(d.turbidity) {
            let MonthNumbers { month, days, ghi_kwh_m2_day, dni_kwh_m2_day, clearness, air_c } = *m;
            let line = format!(
                "{:4}{days:>5}{}{}{}{}{}",
                words::month_short(month as u8),
                right(&or_none(ghi_kwh_m2_day, 2), 14),
                right(&or_none(dni_kwh_m2_day, 2), 14),
                right(&or_none(clearness, 2), 11),
                right(&or_none(air_c, 1), 9),
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
            "{:4}{:>11}{:>11}{:>11}   {:>11}{:>11}",
            "", "file GHI", "sampled", "differ by", "spread", "aimed at"
        ));
        self.dim(&format!(
            "{:4}{:>11}{:>11}{:>11}   {:>11}{:>11}",
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
            "{name:4}{}{}{}   {}{}",
            right(file, 11),
            right(sampled, 11),
            right(differ, 11),
            right(spread, 11),
            right(wanted, 11)
        );
        self.line(&line);
    }

    fn spells(&mut self, s: &SampledVsFile) {
        self.dim("Longest run of dull days, by how dull, days");
        self.dim(&format!(
            "{:17}{:>6}   {:>9}{:>12}{:>11}{:>11}",
            "", "file", "a year's", "9 years of", "10 years'", "30 years'"
        ));
        self.dim(&format!(
            "{:17}{:>6}   {:>9}{:>12}{:>11}{:>11}",
            "", "", "median", "10 at most", "median", "median"
        ));
        for spell in &s.spells {
            let line = format!(
                "{:17}{:>6}   {:>9}{:>12}{:>11}{:>11}",
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
        self.wrapped(
            "Day to day",
            &format!(
                "the clear-sky indices of one day and the next have a correlation of {} in the file and {} in sampled years.",
                number::fixed(s.file_lag_1, 2),
                number::fixed(s.sampled_lag_1, 2)
            ),
        );
        self.wrapped(
            "Daily sums",
            &format!(
                "the distribution of the daily clear-sky index is within {} of the file's (Kolmogorov-Smirnov distance: 0 is the same, 1 has nothing in common).",
                number::fixed(s.daily_index_ks, 3)
            ),
        );
        self.wrapped(
            "Sunshine",
            &format!(
                "the beam is bright (above 120 W/m², WMO) in {} of the minutes with the sun up, and in {} of the file's hours, each taken as a whole.",
                number::percent(s.bright_minutes),
                number::percent(s.file_bright_hours)
            ),
        );
        self.wrapped(
            "Ramps",
            &format!(
                "from one minute to the next the clear-sky index moves by more than 0.1 in {} and by more than 0.3 in {} of minutes (sun above 10°); 95 of 100 moves are below {}, 99 below {}. The file has no minutes to compare this with.",
                number::percent(s.ramps.above_0_1),
                number::percent(s.ramps.above_0_3),
                number::fixed(s.ramps.p95, 2),
                number::fixed(s.ramps.p99, 2)
            ),
        );
    }
}

/// What a file is, and what to do if it is not.
fn kind(kind: YearKind) -> &'static str {
    match kind {
        YearKind::Typical => {
            "taken for a typical one, of months from several years. If it was measured as it is, say weather_years = \"measured\" in [site] of the design."
        }
        YearKind::Real => {
            "one as it was measured. If it is a typical one, say weather_years = \"typical\" in [site] of the design."
        }
    }
}

fn place(d: &Description) -> String {
    let side = |deg: f64, plus: &str, minus: &str| {
        format!("{}° {}", number::given(deg.abs()), if deg < 0.0 { minus } else { plus })
    };
    let utc = match d.utc_offset_h {
        0.0 => "UTC".to_owned(),
        h => format!("UTC{}{}", if h < 0.0 { "-" } else { "+" }, number::given(h.abs())),
    };
    format!(
        "{}, {}, {} m above the sea; standard time {utc}.",
        side(d.latitude_deg, "N", "S"),
        side(d.longitude_deg, "E", "W"),
        number::given(d.elevation_m)
    )
}

fn hours(d: &Description) -> String {
    let whole = format!("{} of {DAYS} days whole", d.whole_days);
    if d.missing.is_empty() {
        return format!("all {HOURS} hours usable, {whole}.");
    }
    let named = d.missing.iter().take(GAPS_SHOWN).cloned().collect::<Vec<_>>().join(", ");
    let more = match d.missing.len().saturating_sub(GAPS_SHOWN) {
        0 => String::new(),
        n => format!(" and {n} more stretches (--json has all)"),
    };
    format!("{} of {HOURS} hours usable, {whole}; missing: {named}{more}.", d.usable_hours)
}

fn dull_days(d: &Description) -> String {
    match d.dull_days {
        None => format!("share {}: no whole day with light.", number::NOT_COMPUTABLE),
        Some(share) => format!(
            "{} of days get less than {} of the light above the atmosphere (clearness below {DULL_BELOW}); the longest run is {} days.",
            number::percent(share),
            number::percent(DULL_BELOW),
            d.longest_dull_run
        ),
    }
}

fn air(d: &Description) -> String {
    let air = d.air_c.map_or(format!("temperature {}", number::NOT_COMPUTABLE), |[mean, low, high]| {
        format!(
            "{} °C on average, {} to {} °C",
            number::fixed(mean, 1),
            number::fixed(low, 1),
            number::fixed(high, 1)
        )
    });
    let wind = d.wind_m_s.map_or(String::new(), |v| format!("; wind {} m/s", number::fixed(v, 1)));
    let rain = match d.rain_mm {
        None => "; no rain given".to_owned(),
        Some(mm) if d.rain_hours >= d.usable_hours => format!("; rain {} mm", number::fixed(mm, 0)),
        Some(mm) => format!(
            "; rain {} mm, but only {} of {} hours give it",
            number::fixed(mm, 0),
            d.rain_hours,
            d.usable_hours
        ),
    };
    format!("{air}{wind}{rain}.")
}

fn clock(d: &Description) -> String {
    let Some(c) = d.closure else {
        return "could not be checked: the file has too few hours with beam and diffuse light.".to_owned();
    };
    let at = words::closure_offset(Some(c.offset_min));
    let middle = if c.offset_min == -30.0 {
        String::new()
    } else {
        format!("; at the middle {} W/m²", number::two_digits(c.rms_at_middle_w_m2))
    };
    format!(
        "GHI, DNI and DHI agree best with the sun at {at}, within {} W/m² (rms){middle}.",
        number::two_digits(c.rms_w_m2)
    )
}

fn clear_sky(d: &Description) -> String {
    let Some(ratio) = d.clear_ratio_p95 else {
        return "turbidity could not be fitted: the file has no hours with a high sun.".to_owned();
    };
    format!(
        "turbidity fitted month by month; 95 of 100 hours with the sun above 12° lie below {} times the clear sky's GHI (near 1: it fits).",
        number::fixed(ratio, 2)
    )
}

/// `+0.4 %`, by how much the sampled lies off the file's.
fn difference(file: Option<f64>, sampled: f64) -> String {
    let Some(file) = file.filter(|f| *f > 0.0) else { return NONE.to_owned() };
    let p = number::fixed(100.0 * (sampled / file - 1.0), 1);
    let sign = if p.starts_with('-') || p == "0.0" { "" } else { "+" };
    format!("{sign}{p} %")
}

fn or_none(x: Option<f64>, decimals: usize) -> String {
    x.filter(|x| x.is_finite()).map_or(NONE.to_owned(), |x| number::fixed(x, decimals))
}

/// Days of a quantile: whole, or half way between.
fn days(x: f64) -> String {
    number::fixed(x, usize::from(x.fract() != 0.0))
}
