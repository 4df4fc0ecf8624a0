//! Weather files and sampled years: long CSV, and minute by minute.

use super::cells::{Rows, number_cell, text_cell};
use crate::report::weather::{Described, SCHEMA};
use crate::report::{number, words};
use crate::sky::calendar::{DAYS, MINUTES};
use crate::study::sampled_days::DayOfTrial;
use crate::study::sampled_years::{SampledMinute, SampledVsFile};
use crate::units::dates;
use crate::weather::file::describe::Description;

/// Long CSV: `file,part,scope,quantity,value,unit`. `part` is `file` or `sampled`; `scope` is `year`, a month
/// `01` to `12`, or `clearness_below_0.2`; empty values are not computable.
pub fn weather(described: &Described) -> Vec<u8> {
    let mut out = Rows::with_comment(format!("# stilldays {} · {SCHEMA}\n", crate::VERSION));
    out.row(["file", "part", "scope", "quantity", "value", "unit"]);
    for of in &described.files {
        let name = text_cell(&of.file.path);
        let mut put = |part: &str, scope: &str, quantity: &str, value: Option<f64>, unit: &str| {
            out.row([&name, part, scope, quantity, &number_cell(value), unit]);
        };
        file_rows(&of.file, &mut |scope, quantity, value, unit| put("file", scope, quantity, value, unit));
        sampled_rows(&of.sampled, &mut put);
    }
    if let Some(pool) = &described.pool {
        let name = format!("all {} files", pool.files);
        sampled_rows(&pool.sampled, &mut |part, scope, quantity, value, unit| {
            out.row([&name, part, scope, quantity, &number_cell(value), unit]);
        });
    }
    out.bytes()
}

fn file_rows(d: &Description, put: &mut impl FnMut(&str, &str, Option<f64>, &str)) {
    let air = |k: usize| d.air_c.map(|a| a[k]);
    let year = [
        ("invented", Some(f64::from(u8::from(d.invented))), "1"),
        ("latitude", Some(d.latitude_deg), "deg"),
        ("longitude", Some(d.longitude_deg), "deg"),
        ("elevation", Some(d.elevation_m), "m"),
        ("utc_offset", Some(d.utc_offset_h), "h"),
        ("usable_hours", Some(d.usable_hours as f64), "h"),
        ("whole_days", Some(d.whole_days as f64), "d"),
        ("ghi", Some(d.ghi_kwh_m2), "kWh/m2"),
        ("dni", Some(d.dni_kwh_m2), "kWh/m2"),
        ("dhi", Some(d.dhi_kwh_m2), "kWh/m2"),
        ("air_mean", air(0), "degC"),
        ("air_lowest", air(1), "degC"),
        ("air_highest", air(2), "degC"),
        ("wind_mean", d.wind_m_s, "m/s"),
        ("rain", d.rain_mm, "mm"),
        ("rain_hours", Some(d.rain_hours as f64), "h"),
        ("sky_cover_hours", Some(d.sky_cover_hours as f64), "h"),
        ("closure_offset", d.closure.map(|c| c.offset_min), "min"),
        ("closure_rms", d.closure.map(|c| c.rms_w_m2), "W/m2"),
        ("closure_rms_at_middle", d.closure.map(|c| c.rms_at_middle_w_m2), "W/m2"),
        ("clear_ratio_p95", d.clear_ratio_p95, "1"),
        ("dull_days", d.dull_days, "1"),
        ("longest_dull_run", Some(d.longest_dull_run as f64), "d"),
        ("warnings", Some(d.warnings.len() as f64), "1"),
    ];
    for (quantity, value, unit) in year {
        put("year", quantity, value, unit);
    }
    for (m, turbidity) in d.months.iter().zip(d.turbidity) {
        let scope = format!("{:02}", m.month);
        put(&scope, "whole_days", Some(m.days as f64), "d");
        put(&scope, "ghi", m.ghi_kwh_m2_day, "kWh/m2/d");
        put(&scope, "dni", m.dni_kwh_m2_day, "kWh/m2/d");
        put(&scope, "clearness", m.clearness, "1");
        put(&scope, "air_mean", m.air_c, "degC");
        put(&scope, "turbidity", Some(turbidity), "1");
    }
}

fn sampled_rows(s: &SampledVsFile, put: &mut impl FnMut(&str, &str, &str, Option<f64>, &str)) {
    let year = [
        ("file", "ghi_filled", s.file_ghi_kwh_m2, "kWh/m2"),
        ("sampled", "ghi", s.sampled_ghi_kwh_m2, "kWh/m2"),
        ("sampled", "variation", s.annual_variation, "1"),
        ("sampled", "daily_index_ks", s.daily_index_ks, "1"),
        ("file", "lag_1", s.file_lag_1, "1"),
        ("sampled", "lag_1", s.sampled_lag_1, "1"),
        ("file", "bright_hours", s.file_bright_hours, "1"),
        ("sampled", "bright_minutes", s.bright_minutes, "1"),
        ("sampled", "ramps_above_0.1", s.ramps.above_0_1, "1"),
        ("sampled", "ramps_above_0.3", s.ramps.above_0_3, "1"),
        ("sampled", "ramps_p95", s.ramps.p95, "1"),
        ("sampled", "ramps_p99", s.ramps.p99, "1"),
        ("sampled", "seed", s.seed as f64, "1"),
        ("sampled", "minute_years", s.minute_years as f64, "1"),
        ("sampled", "daily_years", s.daily_years as f64, "1"),
    ];
    for (part, quantity, value, unit) in year {
        put(part, "year", quantity, Some(value), unit);
    }
    put("sampled", "year", "variation_wanted", s.wanted_annual_variation, "1");
    for m in &s.months {
        let scope = format!("{:02}", m.month);
        put("sampled", &scope, "ghi", Some(m.sampled_ghi_kwh_m2_d), "kWh/m2/d");
        put("sampled", &scope, "variation", Some(m.variation), "1");
        put("sampled", &scope, "variation_wanted", m.wanted_variation, "1");
    }
    for spell in &s.spells {
        let scope = format!("clearness_below_{}", spell.clearness_below);
        put("file", &scope, "longest_run", Some(f64::from(spell.file_longest)), "d");
        for (quantity, value) in [
            ("longest_run_p50", spell.median),
            ("longest_run_p90", spell.p90),
            ("longest_run_10_years_p50", spell.longest_in_10_years),
            ("longest_run_30_years_p50", spell.longest_in_30_years),
        ] {
            put("sampled", &scope, quantity, Some(value), "d");
        }
    }
}

/// Sampled years day by day, as CSV.
pub struct DaysCsv {
    out: Rows,
}

impl DaysCsv {
    /// The head: which files the years come from.
    pub fn new(files: &[&Description], seed: u64, trials: u64) -> Self {
        let invented = if files.iter().any(|f| f.invented) { " · from invented weather" } else { "" };
        let sha256: Vec<_> = files.iter().map(|f| words::escaped(&f.sha256)).collect();
        let mut out = Rows::with_comment(format!(
            "# stilldays {} · sampled days · seed {seed} · trials 0 to {} · weather sha256 {}{invented}\n",
            crate::VERSION,
            trials.saturating_sub(1),
            sha256.join(" ")
        ));
        out.row([
            "trial",
            "day",
            "date",
            "ghi_wh_m2",
            "clear_sky_ghi_wh_m2",
            "clear_sky_index",
            "air_c",
            "donor_file",
            "donor_date",
        ]);
        DaysCsv { out }
    }

    /// Adds a day.
    pub fn put(&mut self, d: &DayOfTrial) {
        self.out.row([
            d.trial.to_string(),
            d.day.to_string(),
            dates::month_day(d.day - 1),
            number::fixed(d.ghi_wh_m2, 1),
            number::fixed(d.clear_wh_m2, 1),
            number::fixed(d.index, 4),
            number::fixed(d.air_c, 2),
            d.donor_file.to_string(),
            dates::month_day(d.donor_day - 1),
        ]);
    }

    /// The file's bytes.
    pub fn bytes(self) -> Vec<u8> {
        self.out.bytes()
    }
}

/// A sampled year as CSV, a row for each minute with the sun up.
pub struct MinutesCsv {
    out: Rows,
    day_start_h: i32,
}

impl MinutesCsv {
    /// The head: where the year comes from. `day_start_h` is that of the calendar.
    pub fn new(file: &Description, seed: u64, trial: u64, day_start_h: i32) -> Self {
        let invented = if file.invented { " · from invented weather" } else { "" };
        let mut out = Rows::with_comment(format!(
            "# stilldays {} · sampled year of minutes · seed {seed} · trial {trial} · weather sha256 {}{invented}\n",
            crate::VERSION,
            words::escaped(&file.sha256)
        ));
        let head = ["date", "clock", "ghi_w_m2", "dni_w_m2", "dhi_w_m2", "air_c", "wind_m_s"];
        out.row(["day", "minute"].iter().chain(&head));
        MinutesCsv { out, day_start_h }
    }

    /// Adds a minute. Date and clock are local standard time at its start.
    pub fn put(&mut self, m: &SampledMinute) {
        let day = i64::from(m.day) - 1;
        let all = MINUTES as i64;
        let at = day * all + i64::from(m.minute) + 60 * i64::from(self.day_start_h);
        let date = at.div_euclid(all).rem_euclid(DAYS as i64) as u16;
        let of_day = at.rem_euclid(all);
        let row = [
            m.day.to_string(),
            m.minute.to_string(),
            dates::month_day(date),
            format!("{:02}:{:02}", of_day / 60, of_day % 60),
            number::fixed(m.ghi_w_m2, 3),
            number::fixed(m.dni_w_m2, 3),
            number::fixed(m.dhi_w_m2, 3),
            number::fixed(m.air_c, 2),
            number::fixed(m.wind_m_s, 2),
        ];
        self.out.row(row);
    }

    /// The file's bytes.
    pub fn bytes(self) -> Vec<u8> {
        self.out.bytes()
    }
}
