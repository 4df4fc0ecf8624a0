//! A run as long CSV: one number a row, with its name, statistic and unit.

use super::cells::{Rows, number_cell, provenance};
use crate::report::words::surface_figure;
use crate::tally::Summary;
use crate::tally::summary::{DayCount, Estimate, Minutes};
use std::collections::BTreeMap;

/// `months.csv`: `scope,quantity,statistic,value,unit`; scope is `season` or a month, `01` to `12`.
pub fn months(s: &Summary) -> Vec<u8> {
    let mut t = LongTable::new(s, ["scope", "quantity", "statistic", "value", "unit"]);
    t.scope = "season".to_owned();
    t.put("days", "count", Some(f64::from(s.season.days)), "d");
    t.put("wanted", "mean", Some(s.season.wanted_min), "min");
    t.estimate("jet", s.season.jet_min, "min");
    t.estimate("still_days_per_month", s.season.still_days_per_month, "d");
    if let Some(r) = &s.weather_input {
        t.range_80("still_days_per_month", Some(r.still_days_per_month), "d");
    }
    t.days("still_days", &s.season.still_days);
    t.days("still_days_worst_month", &s.season.worst_month);
    t.days("short_days", &s.season.short_days);
    t.days("longest_still_spell", &s.season.longest_still_spell);
    t.minutes("dusk_run", s.season.dusk_run_min.as_ref());
    if let Some(r) = &s.weather_input {
        t.range_80("dusk_run", r.dusk_run_min, "min");
    }
    t.causes("without_jet", &s.season.causes_min, &s.season.causes_min_95, "min");
    t.estimate("bearable_years", s.season.bearable_years, "1");
    t.share_of_years("wish", s.season.wish.years_met, s.season.wish.years_met_95);
    if let Some(r) = &s.weather_input {
        t.range_80("wish_years_met", Some(r.years_met), "1");
    }
    for p in &s.season.wish.parts {
        t.share_of_years(&format!("wish_{}", p.part.key()), p.years_met, p.years_met_95);
    }
    if let Some(surface) = &s.panel_surface {
        t.estimate("light_lost_to_dirt", surface_figure(surface.dirt_share), "1");
        t.estimate("light_lost_to_snow", surface_figure(surface.snow_share), "1");
        t.estimate("days_with_litter", surface_figure(surface.littered_days), "d");
    }
    t.water(s);
    for m in &s.months {
        t.scope = format!("{:02}", m.month);
        t.low_water(s, m.month);
        t.put("days", "count", Some(f64::from(m.days)), "d");
        t.put("wanted", "mean", Some(m.wanted_min), "min");
        t.estimate("jet", m.jet_min, "min");
        t.days("still_days", &m.still_days);
        t.days("short_days", &m.short_days);
        t.minutes("dusk_run", m.dusk_run_min.as_ref());
        t.causes("without_jet", &m.causes_min, &m.causes_min_95, "min");
        t.causes("still_days_chiefly_by", &m.still_days_by_cause, &m.still_days_by_cause_95, "d");
        t.put("ghi", "mean", Some(m.ghi_kwh_m2_day), "kWh/m2/d");
        t.within("ghi", "", m.ghi_kwh_m2_day_95, "kWh/m2/d");
        t.put("plane", "mean", Some(m.plane_kwh_m2_day), "kWh/m2/d");
        t.within("plane", "", m.plane_kwh_m2_day_95, "kWh/m2/d");
    }
    t.bytes()
}

/// `distributions.csv`: `scope,quantity,from,to,unit,count,counted`; the bin holds values of `from`
/// up to but not at `to`; an empty `to` is open. `counted` says of what: trials, evenings, days, cycles.
pub fn distributions(s: &Summary) -> Vec<u8> {
    let mut t = LongTable::new(s, ["scope", "quantity", "from", "to", "unit", "count", "counted"]);
    t.scope = "season".to_owned();
    t.whole_days("still_days", &s.season.still_days);
    t.whole_days("still_days_worst_month", &s.season.worst_month);
    t.whole_days("short_days", &s.season.short_days);
    t.whole_days("longest_still_spell", &s.season.longest_still_spell);
    t.evenings("dusk_run", s.season.dusk_run_min.as_ref());
    if let Some(b) = &s.battery {
        let days: Vec<f64> = b.daily_depth.histogram.iter().map(|n| *n as f64).collect();
        t.shares("daily_depth_of_discharge", &days, "days");
        t.shares("cycle_depth", &b.cycle_depth_histogram, "cycles a season");
    }
    for m in &s.months {
        t.scope = format!("{:02}", m.month);
        t.whole_days("still_days", &m.still_days);
        t.whole_days("short_days", &m.short_days);
        t.evenings("dusk_run", m.dusk_run_min.as_ref());
    }
    t.bytes()
}

/// Values of `from` up to but not at `to` (none: open), and how many there are.
struct Bin {
    from: f64,
    to: Option<f64>,
    count: f64,
}

/// 95 % intervals by cause.
type Intervals = BTreeMap<String, [f64; 2]>;

/// A percentile and its 95 % interval.
type Tenth = fn(&Minutes) -> (f64, [f64; 2]);

struct LongTable {
    out: Rows,
    scope: String,
}

impl LongTable {
    fn new<const N: usize>(s: &Summary, header: [&str; N]) -> Self {
        let mut out = Rows::with_comment(provenance(s));
        out.row(header);
        LongTable { out, scope: String::new() }
    }

    fn put(&mut self, quantity: &str, statistic: &str, value: Option<f64>, unit: &str) {
        self.out.row([&self.scope, quantity, statistic, &number_cell(value), unit]);
    }

    fn estimate(&mut self, quantity: &str, e: Estimate, unit: &str) {
        self.put(quantity, "mean", Some(e.mean), unit);
        self.put(quantity, "se", e.se, unit);
        self.within(quantity, "", e.interval_95, unit);
    }

    fn water(&mut self, s: &Summary) {
        let (name, unit) = ("water_lost", "L/week");
        self.estimate(name, s.water.litres_per_week, unit);
        let spread = &s.water.litres_per_week_spread;
        for (p, l, interval) in [
            ("p10", spread.p10, spread.p10_95),
            ("p50", spread.p50, spread.p50_95),
            ("p90", spread.p90, spread.p90_95),
        ] {
            self.put(name, p, Some(l), unit);
            self.within(name, p, Some(interval), unit);
        }
        if let Some(full) = &s.water.full_basin {
            self.estimate("water_lost_if_never_low", full.litres_per_week, unit);
        }
    }

    /// Of basins filled in a month: the day on which they are low; empty where that is later than they are followed.
    fn low_water(&mut self, s: &Summary, month: u8) {
        let full = s.water.full_basin.iter().flat_map(|f| &f.months);
        for m in full.filter(|m| m.month == month) {
            for (p, day) in [("p10", m.p10), ("p50", m.p50), ("p90", m.p90)] {
                let ends = [("", day.day), ("_low_95", day.earliest_95), ("_high_95", day.latest_95)];
                for (end, day) in ends {
                    self.put("full_basin_low_on_day", &format!("{p}{end}"), day.map(f64::from), "d");
                }
            }
        }
    }

    /// The ends of a 95 % interval, of the statistic named.
    fn within(&mut self, quantity: &str, of: &str, interval: Option<[f64; 2]>, unit: &str) {
        let name = |end: &str| if of.is_empty() { format!("{end}_95") } else { format!("{of}_{end}_95") };
        self.put(quantity, &name("low"), interval.map(|i| i[0]), unit);
        self.put(quantity, &name("high"), interval.map(|i| i[1]), unit);
    }

    fn share_of_years(&mut self, quantity: &str, share: f64, interval: [f64; 2]) {
        self.put(quantity, "years_met", Some(share), "1");
        self.within(quantity, "years_met", Some(interval), "1");
    }

    /// What places see whose weather files look like these.
    fn range_80(&mut self, quantity: &str, range: Option<[f64; 2]>, unit: &str) {
        self.put(quantity, "places_low_80", range.map(|r| r[0]), unit);
        self.put(quantity, "places_high_80", range.map(|r| r[1]), unit);
    }

    fn days(&mut self, quantity: &str, c: &DayCount) {
        self.estimate(quantity, c.estimate(), "d");
        for (name, value, interval) in
            [("p10", c.p10, c.p10_95), ("p50", c.p50, c.p50_95), ("p90", c.p90, c.p90_95)]
        {
            self.put(quantity, name, Some(value), "d");
            self.within(quantity, name, Some(interval), "d");
        }
        for (n, chance) in &c.at_least {
            let name = format!("at_least_{n}");
            self.put(quantity, &name, Some(*chance), "1");
            self.within(quantity, &name, c.at_least_95.get(n).copied(), "1");
        }
    }

    fn minutes(&mut self, quantity: &str, m: Option<&Minutes>) {
        self.put(quantity, "mean", m.map(|m| m.mean), "min");
        self.put(quantity, "se", m.and_then(|m| m.se), "min");
        self.within(quantity, "", m.map(|m| m.mean_95), "min");
        let tenths: [(&str, Tenth); 3] =
            [("p10", |m| (m.p10, m.p10_95)), ("p50", |m| (m.p50, m.p50_95)), ("p90", |m| (m.p90, m.p90_95))];
        for (name, of) in tenths {
            self.put(quantity, name, m.map(|m| of(m).0), "min");
            self.within(quantity, name, m.map(|m| of(m).1), "min");
        }
        self.put(quantity, "meets_wish", m.map(|m| m.meets_wish), "1");
        self.put(quantity, "meets_wish_se", m.and_then(|m| m.meets_wish_se), "1");
        self.within(quantity, "meets_wish", m.map(|m| m.meets_wish_95), "1");
        self.put(quantity, "cut_by_hours", m.map(|m| m.cut_by_hours), "1");
        self.put(quantity, "cut_by_hours_se", m.and_then(|m| m.cut_by_hours_se), "1");
        self.within(quantity, "cut_by_hours", m.map(|m| m.cut_by_hours_95), "1");
    }

    fn causes(&mut self, quantity: &str, causes: &BTreeMap<String, f64>, errors: &Intervals, unit: &str) {
        for (key, value) in causes {
            self.put(quantity, key, Some(*value), unit);
            self.within(quantity, key, errors.get(key).copied(), unit);
        }
    }

    fn bin(&mut self, quantity: &str, unit: &str, counted: &str, bin: Bin) {
        let (from, to, count) =
            (number_cell(Some(bin.from)), number_cell(bin.to), number_cell(Some(bin.count)));
        self.out.row([&self.scope, quantity, &from, &to, unit, &count, counted]);
    }

    fn whole_days(&mut self, quantity: &str, c: &DayCount) {
        for (n, count) in c.histogram.iter().enumerate() {
            let bin = Bin { from: n as f64, to: Some((n + 1) as f64), count: *count as f64 };
            self.bin(quantity, "d", "trials", bin);
        }
    }

    fn evenings(&mut self, quantity: &str, m: Option<&Minutes>) {
        let Some(m) = m else { return };
        let last = m.histogram.len().saturating_sub(1);
        for (n, count) in m.histogram.iter().enumerate() {
            let to = (n < last).then(|| (n + 1) as f64 * m.step_min);
            let bin = Bin { from: n as f64 * m.step_min, to, count: *count as f64 };
            self.bin(quantity, "min", "evenings", bin);
        }
    }

    fn shares(&mut self, quantity: &str, histogram: &[f64], counted: &str) {
        let n = histogram.len() as f64;
        for (i, count) in histogram.iter().enumerate() {
            let bin = Bin { from: i as f64 / n, to: Some((i + 1) as f64 / n), count: *count };
            self.bin(quantity, "1", counted, bin);
        }
    }

    fn bytes(self) -> Vec<u8> {
        self.out.bytes()
    }
}
