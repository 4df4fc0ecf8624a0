//! Whether the wish is met: of one year ([`YearVerdict`]), of a design from the years simulated ([`WishVerdict`]).
//!
//! A year meets the wish when all parts of it hold: no month has more still days than are acceptable; the dusk run is long
//! enough on the wished share of evenings (if a dusk run is wished); the basin never falls to low water between fillings
//! (if it is not kept full). A design meets the wish when enough years do (`wish.confidence`). This is the only place that
//! decides it; `run`, `compare`, `remedies`, `grid`, `choose` and `batch` ask here.

use super::intervals;
use super::season_layout::{ROUNDING, SeasonLayout};
use serde::{Deserialize, Serialize};

/// A part of the wish.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WishPart {
    /// No month has more still days than are acceptable.
    StillDays,
    /// The dusk run is long enough on the wished share of evenings.
    DuskRun,
    /// The basin does not fall to low water between fillings.
    Water,
}

impl WishPart {
    /// All, in the order in which they are told.
    pub const ALL: [WishPart; 3] = [WishPart::StillDays, WishPart::DuskRun, WishPart::Water];
    /// How many.
    pub const COUNT: usize = Self::ALL.len();

    /// Key in JSON and CSV.
    pub fn key(self) -> &'static str {
        match self {
            WishPart::StillDays => "still_days",
            WishPart::DuskRun => "dusk_run",
            WishPart::Water => "water",
        }
    }
}

/// Low water on so few wanted minutes of a year is rounding, min.
const NO_LOW_WATER_MIN: f64 = 1e-3;

/// Which parts of the wish a year meets; `None` for a part that is not wished.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct YearVerdict([Option<bool>; WishPart::COUNT]);

impl YearVerdict {
    /// `worst_month`: still days of the worst month; `evenings_met`: share of evenings (0..=1) that reach the wished dusk
    /// run, `None` without evenings; `low_water_min`: wanted minutes lost to low water.
    pub(crate) fn new(
        layout: &SeasonLayout,
        worst_month: u32,
        evenings_met: Option<f64>,
        low_water_min: f64,
    ) -> YearVerdict {
        let still = f64::from(worst_month) <= layout.still_days_a_month;
        let dusk = layout.evenings_wished.zip(evenings_met).map(|(wished, met)| met >= wished * ROUNDING);
        let water = layout.water_wished.then_some(low_water_min <= NO_LOW_WATER_MIN);
        YearVerdict([Some(still), dusk, water])
    }

    /// Whether a part is met; `None` if it is not wished.
    pub(crate) fn part(self, part: WishPart) -> Option<bool> {
        self.0[part as usize]
    }

    /// Whether all parts that are wished are met.
    pub fn met(self) -> bool {
        self.0.iter().all(|part| *part != Some(false))
    }
}

/// Whether enough years meet a wish.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Meets {
    /// Surely.
    Yes,
    /// Surely not.
    No,
    /// Not settled in these trials.
    Unsure,
}

impl Meets {
    /// From an interval of the share of years that are met, and the share wished.
    pub(crate) fn of(share: intervals::Interval, wished: f64) -> Meets {
        match () {
            () if share.lo >= wished => Meets::Yes,
            () if share.hi < wished => Meets::No,
            () => Meets::Unsure,
        }
    }
}

/// The verdict on a design.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct WishVerdict {
    /// Whether enough years meet all parts, by the interval of `years_met_95`.
    pub meets: Meets,
    /// Share of years that must meet the wish (`wish.confidence`).
    pub confidence: f64,
    /// Share of years that meet all parts.
    pub years_met: f64,
    /// Its 95 % interval (Clopper and Pearson).
    pub years_met_95: [f64; 2],
    /// Each part that is wished.
    pub parts: Vec<PartVerdict>,
    /// The part that most years miss, if the wish is not surely met and any year misses one.
    pub fails_most: Option<WishPart>,
    /// Share of evenings that should reach the wished dusk run (`wish.evenings`); `None` if no dusk run is wished.
    pub evenings: Option<f64>,
}

/// The verdict on one part.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct PartVerdict {
    /// Which part.
    pub part: WishPart,
    /// Whether enough years meet it.
    pub meets: Meets,
    /// Share of years that meet it.
    pub years_met: f64,
    /// Its 95 % interval (Clopper and Pearson).
    pub years_met_95: [f64; 2],
}

/// Years that meet each part of the wish, and the whole of it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(super) struct YearsMet {
    /// Years that meet each part; a part that is not wished counts none.
    pub parts: [u64; WishPart::COUNT],
    /// Years that meet all wished parts.
    pub all: u64,
}

impl YearsMet {
    /// Adds a year.
    pub(super) fn add(&mut self, year: YearVerdict) {
        for (count, part) in self.parts.iter_mut().zip(WishPart::ALL) {
            *count = count.wrapping_add(u64::from(year.part(part) == Some(true)));
        }
        self.all = self.all.wrapping_add(u64::from(year.met()));
    }

    /// The verdict after so many years; `None` without any.
    pub(super) fn verdict(&self, layout: &SeasonLayout, years: u64) -> Option<WishVerdict> {
        if years == 0 {
            return None;
        }
        let wished = layout.confidence;
        let share = |met: u64| {
            let met = met.min(years);
            let i = intervals::clopper_pearson(met, years, 0.95);
            (Meets::of(i, wished), met as f64 / years as f64, [i.lo, i.hi])
        };
        let asked = |part: WishPart| match part {
            WishPart::StillDays => true,
            WishPart::DuskRun => layout.evenings_wished.is_some(),
            WishPart::Water => layout.water_wished,
        };
        let parts: Vec<PartVerdict> = WishPart::ALL
            .into_iter()
            .filter(|part| asked(*part))
            .map(|part| {
                let (meets, years_met, years_met_95) = share(self.parts[part as usize]);
                PartVerdict { part, meets, years_met, years_met_95 }
            })
            .collect();
        let (meets, years_met, years_met_95) = share(self.all);
        let worst = parts.iter().min_by(|a, b| a.years_met.total_cmp(&b.years_met));
        let fails_most = worst.filter(|p| meets != Meets::Yes && p.years_met < 1.0).map(|p| p.part);
        Some(WishVerdict {
            meets,
            confidence: wished,
            years_met,
            years_met_95,
            parts,
            fails_most,
            evenings: layout.evenings_wished,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::design::parse;
    use crate::plant::Scene;
    use crate::sky::{Calendar, Place};
    use std::sync::Arc;

    fn layout(wish: &str, water: &str) -> SeasonLayout {
        let text = format!(
            "[site]\nweather = \"v.csv\"\n[wish]\n{wish}\n[water]\n{water}\n[panel]\nrated_power = \"10 W\"\n\
             open_circuit_voltage = \"10.8 V\"\n[pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n"
        );
        let design = parse("d.toml".as_ref(), text).expect("a good design").design;
        let place = Place { latitude_deg: 50.0, longitude_deg: 0.0, elevation_m: 0.0, utc_offset_h: 0.0 };
        let calendar = Arc::new(Calendar::new(place, [3.0; 12]));
        SeasonLayout::new(&design, &Scene::new(&design, &calendar, 0).days, &calendar)
    }

    const HOURS: &str = "hours = \"10:00 to sunset + 2 h\"\nstill_days = 2\n";

    #[test]
    fn a_year_meets_the_wish_only_if_every_part_of_it_does() {
        let whole = layout(
            &format!("{HOURS}dusk_run = \"60 min\"\nevenings = \"80 %\""),
            "top_up = \"every 7 days\"",
        );
        for (worst, evenings, low_water, met) in [
            (2, 0.80, 0.0, true),
            (3, 1.0, 0.0, false),
            (0, 0.79, 0.0, false),
            (0, 0.0, 0.0, false),
            (0, 1.0, 1.0, false),
            // Rounding of sums decides nothing.
            (0, 0.8 - 1e-9, 1e-6, true),
        ] {
            let year = YearVerdict::new(&whole, worst, Some(evenings), low_water);
            assert_eq!(year.met(), met, "{worst} {evenings} {low_water}");
        }
        // A season without sunsets has no evenings to miss.
        assert!(YearVerdict::new(&whole, 0, None, 0.0).met());
    }

    #[test]
    fn what_is_not_wished_is_no_part_of_it() {
        let some = layout(HOURS, "top_up = \"always\"");
        let year = YearVerdict::new(&some, 0, Some(0.0), 0.0);
        assert!(year.met());
        assert_eq!((year.part(WishPart::DuskRun), year.part(WishPart::Water)), (None, None));
        let mut years = YearsMet::default();
        years.add(year);
        let verdict = years.verdict(&some, 1).expect("one year");
        assert_eq!(verdict.parts.iter().map(|p| p.part).collect::<Vec<_>>(), [WishPart::StillDays]);
        // One good year says little.
        assert_eq!((verdict.meets, verdict.fails_most), (Meets::Unsure, None));
    }

    #[test]
    fn enough_years_settle_the_verdict_and_the_worst_part_is_named() {
        let whole = layout(&format!("{HOURS}dusk_run = \"60 min\""), "top_up = \"always\"");
        let (mut good, mut mixed) = (YearsMet::default(), YearsMet::default());
        for k in 0..100 {
            good.add(YearVerdict::new(&whole, 0, Some(1.0), 0.0));
            mixed.add(YearVerdict::new(
                &whole,
                if k < 20 { 9 } else { 0 },
                Some(if k < 60 { 0.5 } else { 1.0 }),
                0.0,
            ));
        }
        let (good, mixed) =
            (good.verdict(&whole, 100).expect("years"), mixed.verdict(&whole, 100).expect("years"));
        assert_eq!((good.meets, good.fails_most), (Meets::Yes, None));
        assert_eq!((mixed.meets, mixed.fails_most), (Meets::No, Some(WishPart::DuskRun)));
        assert!((mixed.years_met - 0.4).abs() < 1e-12);
        assert!(mixed.years_met_95[0] < 0.4 && 0.4 < mixed.years_met_95[1]);
        assert!(YearsMet::default().verdict(&whole, 0).is_none());
    }
}
