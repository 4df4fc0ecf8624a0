//! How much of a jet's water the wind carries past the rim.
//!
//! Drops differ: the volume below a diameter D is 1 - exp(-ln 2 (D/median)³) (Rosin & Rammler 1933; exponent 3 common practice, no
//! source). How far a drop is carried does not fall steadily with its size: mist is slow to rise and slow to fall. But a stronger wind
//! carries each drop farther, so that each has one wind that just carries it to the rim; what is lost at a wind is the volume of
//! all drops whose wind is below it.
//!
//! No drop is carried farther than wind × sqrt(2 h/g), the way of the finest mist (of 6,000 drawn throws the farthest went 0.94 of it). So winds
//! are told as a = ln(wind sqrt(2 h/g)/rim), and without gusts nothing is lost below a = 0. Winds of a weather file are means of an
//! hour: about them the wind is taken as normally distributed, its standard deviation a share of the mean (turbulence intensity).

use super::throw::{GRAVITY_M_S2, throw};
use crate::lanes::{BLOCK, Lane, RowF64, math};
use rayon::prelude::*;
use std::cell::RefCell;
use std::collections::VecDeque;
use std::ops::RangeInclusive;
use std::sync::{Arc, OnceLock};

/// An even grid in the logarithm.
#[derive(Clone, Copy)]
struct Grid {
    from: f64,
    /// In the natural logarithm.
    step: f64,
    points: usize,
}

impl Grid {
    /// The logarithm at a point.
    fn ln(&self, k: usize) -> f64 {
        libm::log(self.from) + k as f64 * self.step
    }

    fn at(&self, k: usize) -> f64 {
        libm::exp(self.ln(k))
    }

    /// Where a logarithm lies: the first of four points about it, and their weights (cubic); the end value outside.
    fn cubic(&self, ln: f64) -> (usize, [f64; 4]) {
        self.cubic_from(libm::log(self.from), ln)
    }

    /// The same where the logarithm of the first point is at hand.
    fn cubic_from(&self, ln_from: f64, ln: f64) -> (usize, [f64; 4]) {
        let x = ((ln - ln_from) / self.step).clamp(0.0, (self.points - 1) as f64);
        let first = (x as usize).saturating_sub(1).min(self.points - 4);
        let t = x - first as f64 - 1.0;
        let (a, b, c) = (t + 1.0, t - 1.0, t - 2.0);
        (first, [-t * b * c / 6.0, a * b * c / 2.0, -a * t * c / 2.0, a * t * b / 6.0])
    }
}

/// Throws that are reckoned: jets to 20 m, winds to 59 m/s, drops to 20 mm.
const JETS: Grid = Grid { from: 0.02, step: 0.63, points: 12 };
const WINDS: Grid = Grid { from: 0.1, step: 0.426, points: 16 };
const DROPS: Grid = Grid { from: 0.02, step: 0.3, points: 24 };
/// What is read off between them: rows of jets, sizes of drops; and rim/sqrt(2 h/g), to 40 m/s.
const ROWS: Grid = Grid { step: 0.15, points: 47, ..JETS };
const SIZES: Grid = Grid { step: 0.0543, points: 128, ..DROPS };
const SPEEDS: Grid = Grid { from: 0.05, step: 0.394, points: 18 };

/// For a row, or for the jet of a throw, and each speed: a of the wind that just carries each size of drop to the rim.
type Reach<T> = [[T; SIZES.points]; SPEEDS.points];

/// The way of a drop that has the speed of the air for as long as it would rise without drag, for each m/s of wind, s.
fn rise_s(jet_m: f64) -> f64 {
    (2.0 * jet_m / GRAVITY_M_S2).sqrt()
}

/// Of one row, computed once, when it is first asked for: from four jets.
fn reach(row: usize) -> &'static Reach<f32> {
    static ROWS_REACHED: [OnceLock<Box<Reach<f32>>>; ROWS.points] = [const { OnceLock::new() }; ROWS.points];
    ROWS_REACHED[row].get_or_init(|| {
        let (jet, weights) = JETS.cubic(ROWS.ln(row));
        let jets: [_; 4] = std::array::from_fn(|j| thrown(jet + j));
        let mut table = Box::new([[0.0; SIZES.points]; SPEEDS.points]);
        for (speed, line) in table.iter_mut().enumerate() {
            for (size, a) in line.iter_mut().enumerate() {
                *a = (0..4).map(|j| weights[j] * jets[j][speed][size]).sum::<f64>() as f32;
            }
        }
        table
    })
}

/// The jets of [`JETS`] that some rows rest on.
fn jets_of(rows: RangeInclusive<usize>) -> std::ops::Range<usize> {
    JETS.cubic(ROWS.ln(*rows.start())).0..JETS.cubic(ROWS.ln(*rows.end())).0 + 4
}

/// Of the jet of a throw, computed once, when it is first asked for: from 384 throws.
fn thrown(jet: usize) -> &'static Reach<f64> {
    static THROWN: [OnceLock<Box<Reach<f64>>>; JETS.points] = [const { OnceLock::new() }; JETS.points];
    THROWN[jet].get_or_init(|| {
        let mut at_throws = [[0.0; DROPS.points]; SPEEDS.points];
        for drop in 0..DROPS.points {
            let carried = just_carried(JETS.at(jet), DROPS.at(drop));
            carried.into_iter().zip(&mut at_throws).for_each(|(a, speed)| speed[drop] = a);
        }
        let sizes: [_; SIZES.points] = std::array::from_fn(|k| DROPS.cubic(SIZES.ln(k)));
        Box::new(
            at_throws
                .map(|speed| sizes.map(|(drop, weights)| (0..4).map(|k| weights[k] * speed[drop + k]).sum())),
        )
    })
}

/// a of the wind that just carries a drop (mm) to the rim, for each of [`SPEEDS`].
fn just_carried(jet_m: f64, drop_mm: f64) -> [f64; SPEEDS.points] {
    let launch_m_s = (2.0 * GRAVITY_M_S2 * jet_m).sqrt();
    let mut ln_share = [0.0; WINDS.points];
    for (k, share) in ln_share.iter_mut().enumerate() {
        let wind = WINDS.at(k);
        *share = libm::log(throw(launch_m_s, drop_mm, wind).0 / (wind * rise_s(jet_m)));
    }
    let ln_from = libm::log(WINDS.from);
    let share_at = |ln_wind: f64| -> f64 {
        let (first, weights) = WINDS.cubic_from(ln_from, ln_wind);
        (0..4).map(|k| weights[k] * ln_share[first + k]).sum()
    };
    std::array::from_fn(|speed| {
        let ln_speed = SPEEDS.ln(speed);
        let (mut short, mut far) = (0.0, 8.0);
        for _ in 0..24 {
            let a = 0.5 * (short + far);
            if a + share_at(ln_speed + a) < 0.0 { short = a } else { far = a }
        }
        0.5 * (short + far)
    })
}

/// Rows that a basin's table holds, up to the highest jet: a factor of 17. Lower ones are read off the lowest.
const KEPT_ROWS: usize = 20;
/// Points of a in that table: from where gusts begin to carry drops out to where all but the largest are out.
const LEAST_A: f64 = -1.0;
const MOST_A: f64 = 4.5;
/// Distance between them with gusts, which smooth what is lost, and without.
const STEP_A: f64 = 0.025;
const FINE_STEP_A: f64 = 0.0125;
/// Turbulence intensity below which points are as close as without gusts.
const FINE_BELOW: f64 = 0.1;

/// What a basin's losses hang on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Throwing {
    /// From the jet to the rim, m.
    pub rim_m: f64,
    /// Diameter below which half the jet's volume lies, mm.
    pub drop_mm: f64,
    /// Turbulence intensity: standard deviation of the wind over its mean.
    pub turbulence: f64,
}

/// Share of the flow that one basin loses, by jet height and wind.
#[derive(Clone, Debug)]
pub struct LostShare {
    /// The lowest row kept, of [`ROWS`], and how many are.
    first: f64,
    kept: usize,
    /// Points of a, and how many a unit of it takes.
    points: usize,
    per_a: f64,
    /// Row by row.
    lost: Arc<[f32]>,
}

/// What a table hangs on: bits of [`Throwing`], and its highest row.
type Key = ([u64; 3], usize);

/// Tables that a thread remembers: those of two blocks.
const REMEMBERED: usize = 2 * BLOCK;

thread_local! {
    /// The last tables of this thread. Builds side by side have the same basins, and share the memory of their tables.
    static LAST: RefCell<VecDeque<(Key, LostShare)>> = const { RefCell::new(VecDeque::new()) };
}

impl LostShare {
    /// For jets up to a height, m.
    pub fn new(throwing: &Throwing, highest_jet_m: f64) -> Self {
        let Throwing { rim_m, drop_mm, turbulence } = *throwing;
        let top = libm::ceil(libm::log((highest_jet_m / ROWS.from).max(1.0)) / ROWS.step) as usize;
        let top = top.clamp(1, ROWS.points - 1);
        let key = ([rim_m, drop_mm, turbulence].map(f64::to_bits), top);
        let known =
            LAST.with_borrow(|last| last.iter().find(|(k, _)| *k == key).map(|(_, table)| table.clone()));
        known.unwrap_or_else(|| {
            // Not while the memory is borrowed: threads that wait take up other work.
            let table = LostShare::computed(throwing, top);
            LAST.with_borrow_mut(|last| {
                last.truncate(REMEMBERED - 1);
                last.push_front((key, table.clone()));
            });
            table
        })
    }

    /// For jets up to the height of a row.
    fn computed(throwing: &Throwing, top: usize) -> Self {
        let first = (top + 1).saturating_sub(KEPT_ROWS);
        let step = if throwing.turbulence < FINE_BELOW { FINE_STEP_A } else { STEP_A };
        // Side by side where there are threads: the first basin of a run waits for them.
        jets_of(first..=top).into_par_iter().for_each(|jet| {
            thrown(jet);
        });
        let volume = volumes(throwing.drop_mm);
        let gusts = gusts(throwing.turbulence, step);
        let mut lost = vec![0.0; (top + 1 - first) * gusts.len()];
        for (row, lost) in (first..=top).zip(lost.chunks_exact_mut(gusts.len())) {
            let ln_speed = libm::log(throwing.rim_m / rise_s(ROWS.at(row)));
            let by_wind = volume_by_wind(reach(row), ln_speed, &volume, step);
            blown_out(&by_wind, &gusts, lost);
        }
        LostShare {
            first: first as f64,
            kept: top + 1 - first,
            points: gusts.len(),
            per_a: 1.0 / step,
            lost: lost.into(),
        }
    }

    /// Share lost at a place among the rows and a wind, as a; straight lines between rows and points.
    fn between(&self, row: f64, a: f64) -> f64 {
        let row = (row - self.first).clamp(0.0, self.kept as f64 - 1.0);
        let point = ((a - LEAST_A) * self.per_a).clamp(0.0, self.points as f64 - 1.0);
        let (r, p) = ((row as usize).min(self.kept - 2), (point as usize).min(self.points - 2));
        let (over_row, over_point) = (row - r as f64, point - p as f64);
        let along = |row: usize| {
            let at = row * self.points + p;
            let (this, next) = (f64::from(self.lost[at]), f64::from(self.lost[at + 1]));
            this + (next - this) * over_point
        };
        let (this, next) = (along(r), along(r + 1));
        this + (next - this) * over_row
    }
}

/// Shares of the flow that the basins of some lanes lose, from place `at` on, by rim (m from the jet), jet height (m) and wind at
/// that height (m/s).
#[inline(always)]
pub(crate) fn lost_shares<V: Lane>(basins: &[LostShare], rim_m: V, jet_m: V, wind_m_s: V, at: usize) -> V {
    let c = V::splat;
    let row = math::ln((jet_m * c(1.0 / ROWS.from)).max(c(1.0))) * c(1.0 / ROWS.step);
    let way = wind_m_s / rim_m;
    let squared = way * way * jet_m * c(2.0 / GRAVITY_M_S2);
    let a = math::ln(squared.max(c(1e-12))) * c(0.5);
    let (mut rows, mut winds, mut lost) = (RowF64::default(), RowF64::default(), RowF64::default());
    row.put(&mut rows, at);
    a.put(&mut winds, at);
    #[expect(clippy::needless_range_loop, reason = "rows side by side")]
    for lane in at..at + V::N {
        lost.0[lane] = basins[lane].between(rows.0[lane], winds.0[lane]);
    }
    V::of(&lost, at)
}

/// Share of a jet's volume between one size of [`SIZES`] and the next; what is beyond either end is put to the end.
fn volumes(median_mm: f64) -> [f32; SIZES.points - 1] {
    let above = |k: usize| {
        let ratio = SIZES.at(k) / median_mm;
        libm::exp(-std::f64::consts::LN_2 * ratio * ratio * ratio)
    };
    let last = SIZES.points - 2;
    let mut before = 1.0;
    std::array::from_fn(|k| {
        let here = if k == last { 0.0 } else { above(k + 1) };
        let volume = before - here;
        before = here;
        volume as f32
    })
}

/// Share of a jet's volume by the a that just carries it to the rim, in steps from 0 to [`MOST_A`].
fn volume_by_wind(
    reach: &Reach<f32>,
    ln_speed: f64,
    volume: &[f32; SIZES.points - 1],
    step: f64,
) -> Vec<f32> {
    let (first, weights) = SPEEDS.cubic(ln_speed);
    let weights = weights.map(|w| (w / step) as f32);
    let mut place = [0.0f32; SIZES.points];
    for (weight, line) in weights.into_iter().zip(&reach[first..]) {
        for (place, a) in place.iter_mut().zip(line) {
            *place += weight * a;
        }
    }
    let mut bins = vec![0.0f32; libm::round(MOST_A / step) as usize];
    for (ends, volume) in place.windows(2).zip(volume) {
        let (lo, hi) = (ends[0].min(ends[1]).max(0.0), ends[0].max(ends[1]).max(0.0));
        let (from, to) = (lo as usize, (hi as usize).min(bins.len() - 1));
        if from == to {
            bins[from] += volume;
            continue;
        }
        let density = volume / (hi - lo);
        for (k, bin) in bins.iter_mut().enumerate().take(to + 1).skip(from) {
            *bin += density * ((k as f32 + 1.0).min(hi) - (k as f32).max(lo));
        }
    }
    bins
}

/// Share of the time of an hour in which the wind carries a drop out, by how far the a of the hour's mean lies above that which just does, from
/// [`LEAST_A`] on, each at the middle of its step. A wind turned about carries drops out on the other side.
fn gusts(turbulence: f64, step: f64) -> Vec<f32> {
    let points = libm::round((MOST_A - LEAST_A) / step) as usize + 1;
    let carried = |over: f64| {
        let needed = libm::exp(-over);
        if turbulence < 1e-3 {
            return f64::from(u8::from(needed < 1.0));
        }
        let above = |z: f64| 0.5 * libm::erfc(z / (turbulence * std::f64::consts::SQRT_2));
        above(needed - 1.0) + above(needed + 1.0)
    };
    (0..points).map(|k| carried(LEAST_A + (k as f64 - 0.5) * step) as f32).collect()
}

/// Adds up the share that is lost at each point.
fn blown_out(by_wind: &[f32], gusts: &[f32], lost: &mut [f32]) {
    for (bin, volume) in by_wind.iter().enumerate().filter(|(_, v)| **v > 0.0) {
        for (lost, gust) in lost[bin..].iter_mut().zip(gusts) {
            *lost += volume * gust;
        }
    }
    // Weaker winds are read off here, too: they lose nothing.
    lost[0] = 0.0;
}
