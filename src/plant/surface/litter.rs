//! Leaves and droppings that come by chance and stay until rain, wind or a hand takes them away.
//!
//! A leaf on a cell stops the whole string ([`panel`](crate::plant::panel)), so their number hardly matters: what counts is whether one lies there. All
//! numbers here are common practice, no source.

/// Area of a cell for each ampere of short-circuit current, cm² (33 mA/cm²).
const CELL_CM2_PER_A: f64 = 30.0;
/// Areas of a leaf and of a dropping, cm²: smallest and largest.
const LEAF_CM2: (f64, f64) = (30.0, 60.0);
const DROPPING_CM2: (f64, f64) = (2.0, 6.0);
/// The most of a cell's light that they take: some passes through and beside.
const MOST: f64 = 0.95;
/// Share of the leaves of the fall that comes on a day of the rest of the year.
const OUT_OF_SEASON: f64 = 0.01;
/// Rain of a day that washes leaves off (mm), if the panel is tilted at least so much (°), and that washes off droppings.
const LEAF_RAIN_MM: f64 = 5.0;
const LEAF_TILT_DEG: f64 = 20.0;
const DROPPING_RAIN_MM: f64 = 15.0;
/// Gusts that take leaves away, m/s, and gusts over the mean of their hour.
const LEAF_GUST_M_S: f64 = 7.0;
const GUST_OVER_MEAN: f64 = 1.5;

/// What may fall on a panel.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Litter {
    /// Leaves for each m² and day while they fall, and droppings at any time.
    pub leaves: f64,
    pub droppings: f64,
    /// Cells in series, and short-circuit current, A.
    pub cells: f64,
    pub short_circuit_a: f64,
    /// Tilt of a fixed panel, °; 90 of one that moves, for it is steep at some time of the day.
    pub tilt_deg: f64,
}

/// The air of a day, as far as it moves litter.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LitterDay {
    /// Whether leaves fall.
    pub fall: bool,
    /// Rain, mm.
    pub rain_mm: f64,
    /// Highest hourly mean of the wind, m/s.
    pub wind_m_s: f64,
    /// Whether the panel is cleaned by hand.
    pub cleaned: bool,
    /// Uniform numbers: leaves, their size, droppings, their size.
    pub chance: [f64; 4],
}

/// Something that covers cells: how many (whole number), and the share of their light that it takes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct Covers {
    /// Cells.
    pub cells: f64,
    /// Share of their light.
    pub share: f64,
}

/// What lies on a panel.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(crate) struct LitterState {
    leaves: Covers,
    droppings: Covers,
    /// The wind of the day before took the leaves away.
    blown: bool,
}

impl Litter {
    /// What `pieces` of an area cover.
    fn covers(&self, pieces: f64, cm2: f64) -> Covers {
        if pieces <= 0.0 {
            return Covers::default();
        }
        let cell_cm2 = CELL_CM2_PER_A * self.short_circuit_a;
        let each = libm::round(cm2 / cell_cm2 + 0.5).max(1.0);
        Covers { cells: (pieces * each).min(self.cells), share: (cm2 / (each * cell_cm2)).min(MOST) }
    }

    /// What comes on a day.
    fn arrives(&self, day: &LitterDay) -> (Covers, Covers) {
        let panel_m2 = 1e-4 * CELL_CM2_PER_A * self.short_circuit_a * self.cells;
        let leaves_a_day = self.leaves * if day.fall { 1.0 } else { OUT_OF_SEASON };
        let between = |(lo, hi): (f64, f64), u: f64| lo + (hi - lo) * u;
        let [leaves, leaf, droppings, dropping] = day.chance;
        (
            self.covers(poisson(leaves_a_day * panel_m2, leaves), between(LEAF_CM2, leaf)),
            self.covers(poisson(self.droppings * panel_m2, droppings), between(DROPPING_CM2, dropping)),
        )
    }
}

impl LitterState {
    /// What lies on the panel on a day: the kind that takes most of a cell's light, for that one limits the string.
    pub fn day(&mut self, litter: &Litter, day: &LitterDay) -> Covers {
        let washed = day.rain_mm > LEAF_RAIN_MM && litter.tilt_deg >= LEAF_TILT_DEG;
        if washed || self.blown || day.cleaned {
            self.leaves = Covers::default();
        }
        if day.rain_mm > DROPPING_RAIN_MM || day.cleaned {
            self.droppings = Covers::default();
        }
        let (leaves, droppings) = litter.arrives(day);
        self.leaves = self.leaves.and(leaves, litter.cells);
        self.droppings = self.droppings.and(droppings, litter.cells);
        self.blown = GUST_OVER_MEAN * day.wind_m_s > LEAF_GUST_M_S;
        self.leaves.or(self.droppings)
    }
}

impl Covers {
    /// Both of one kind.
    fn and(self, more: Covers, most_cells: f64) -> Covers {
        Covers { cells: (self.cells + more.cells).min(most_cells), share: self.share.max(more.share) }
    }

    /// Of two kinds the one that takes more of its cells' light: the string's current is that of its darkest cells.
    pub fn or(self, other: Covers) -> Covers {
        let lies = other.cells > 0.0 && (self.cells <= 0.0 || other.share > self.share);
        if lies { other } else { self }
    }
}

/// Number of events of a Poisson law of this mean (small) by inverse CDF.
fn poisson(mean: f64, u: f64) -> f64 {
    let mut weight = libm::exp(-mean);
    let (mut below, mut count) = (weight, 0.0);
    while u > below && count < 1000.0 {
        count += 1.0;
        weight *= mean / count;
        below += weight;
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    const PANEL: Litter =
        Litter { leaves: 3.0, droppings: 0.03, cells: 18.0, short_circuit_a: 0.6, tilt_deg: 35.0 };
    const CALM: LitterDay =
        LitterDay { fall: true, rain_mm: 0.0, wind_m_s: 1.0, cleaned: false, chance: [0.5; 4] };

    #[test]
    fn counts_follow_their_law() {
        // P(0), P(0 or 1) of mean 0.5 are 0.6065 and 0.9098.
        assert_eq!([0.60, 0.61, 0.90, 0.91].map(|u| poisson(0.5, u)), [0.0, 1.0, 1.0, 2.0]);
        assert_eq!(poisson(0.0, 0.999), 0.0);
        let n = 20_000;
        let mean =
            (0..n).map(|k| poisson(0.17, (f64::from(k) + 0.5) / f64::from(n))).sum::<f64>() / f64::from(n);
        assert!((mean - 0.17).abs() < 1e-3, "{mean}");
    }

    #[test]
    fn a_leaf_covers_some_small_cells_and_a_dropping_part_of_one() {
        // Cells of 18 cm²: a leaf of 45 cm² lies on three.
        let leaf = PANEL.covers(1.0, 45.0);
        assert_eq!(leaf.cells, 3.0);
        assert!((leaf.share - 45.0 / 54.0).abs() < 1e-12);
        let dropping = PANEL.covers(1.0, 4.0);
        assert!(dropping.cells == 1.0 && (dropping.share - 4.0 / 18.0).abs() < 1e-12);
        let big = Litter { short_circuit_a: 5.0, ..PANEL }.covers(1.0, 45.0);
        assert!(big.cells == 1.0 && (big.share - 0.3).abs() < 1e-12);
        assert_eq!(PANEL.covers(100.0, 45.0).cells, 18.0);
    }

    #[test]
    fn leaves_stay_until_rain_wind_or_a_hand() {
        let falls = LitterDay { chance: [0.95, 0.5, 0.5, 0.5], ..CALM };
        let lies = |then: LitterDay, litter: &Litter| {
            let mut state = LitterState::default();
            assert!(state.day(litter, &falls).cells >= 2.0);
            let kept = state.day(litter, &CALM);
            assert!(kept.cells >= 2.0, "nothing moved it");
            state.day(litter, &then);
            state.day(litter, &CALM).cells
        };
        assert_eq!(lies(LitterDay { rain_mm: 6.0, ..CALM }, &PANEL), 0.0);
        assert_eq!(lies(LitterDay { wind_m_s: 5.0, ..CALM }, &PANEL), 0.0);
        assert_eq!(lies(LitterDay { cleaned: true, ..CALM }, &PANEL), 0.0);
        assert!(lies(LitterDay { rain_mm: 4.0, wind_m_s: 4.0, ..CALM }, &PANEL) > 0.0);
        // Rain does not move leaves from a flat panel.
        assert!(lies(LitterDay { rain_mm: 30.0, ..CALM }, &Litter { tilt_deg: 5.0, ..PANEL }) > 0.0);
    }

    #[test]
    fn few_leaves_come_outside_the_fall() {
        let come = |fall: bool| {
            (0..10_000)
                .filter(|k| {
                    let u = (f64::from(*k) + 0.5) / 10_000.0;
                    let day = LitterDay { fall, chance: [u, 0.5, 0.0, 0.5], ..CALM };
                    LitterState::default().day(&PANEL, &day).cells > 0.0
                })
                .count()
        };
        // 3 a day and m² on 0.0324 m².
        assert!((900..950).contains(&come(true)), "{}", come(true));
        assert!((5..15).contains(&come(false)), "{}", come(false));
    }

    #[test]
    fn the_darker_of_two_covers_counts() {
        let (a, b) = (Covers { cells: 3.0, share: 0.5 }, Covers { cells: 1.0, share: 0.9 });
        assert_eq!((a.or(b), b.or(a)), (b, b));
        assert_eq!(a.or(Covers::default()), a);
        assert_eq!(Covers::default().or(a), a);
    }
}
