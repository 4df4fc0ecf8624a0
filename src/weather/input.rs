//! What kind of weather files a run rests on, and how far its answer may be off because of them.
//!
//! A file is one look at the weather of its place. The simulation's own error says nothing of what another file of the same
//! place would have answered. How much that is was measured (see [`TABLE`]): from long records of real days, played in their
//! order, came the true still days of builds with and without a battery; typical years, single years and pools made of the same
//! records, sampled by this program, gave its answers. The difference of square roots of still days a month hardly depends on
//! their number, so one figure serves all levels.

use super::file::year::{TypicalYear, YearKind};
use serde::{Deserialize, Serialize};

/// What the files are.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum InputKind {
    /// Months chosen from several years for being average.
    Typical,
    /// Years as they were.
    Real,
    /// Made up from monthly means.
    Invented,
}

/// Kind and number of the files of a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WeatherInput {
    /// The kind; of a mixture that of the poorest.
    pub kind: InputKind,
    /// How many.
    pub files: usize,
}

/// Standard deviations of the error that the files leave.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InputError {
    /// Of the square root of still days a month.
    pub root_still: f64,
    /// Of the mean dusk run, as a share of it.
    pub dusk_run: f64,
    /// Of the share of good years, as a normal quantile.
    pub years: f64,
}

/// Days that a full battery runs the wanted load, in the builds of [`TABLE`].
const STORES_D: [f64; 3] = [0.0, 1.2, 3.2];

/// Real years pooled, in the builds of [`TABLE`].
const POOLS: [usize; 5] = [1, 2, 3, 5, 10];

/// Errors by store ([`STORES_D`]).
struct Row {
    root_still: [f64; 3],
    dusk_run: [f64; 3],
    years: [f64; 3],
}

/// What was measured.
struct Table {
    typical: Row,
    invented: Row,
    /// By [`POOLS`].
    real: [Row; 5],
}

/// Computed from 22 daily records of irradiation in eight groups of climates (public records of agricultural and forest
/// stations; their providers are named in `tests/it/records/climates/`): typical years chosen by month, single years and
/// pools of them, each sampled by this program, against the record's own years in their order. Three builds without a
/// battery and six with one on each, at about 0.3, 1 and 3 still days a month. `tests/it/records/band/` measures it again.
static TABLE: Table = Table {
    typical: Row {
        root_still: [0.135, 0.165, 0.17],
        dusk_run: [0.038, 0.038, 0.026],
        years: [0.45, 0.35, 0.40],
    },
    // The dusk run without a battery is short: its error was measured before invented years took their aims from records.
    invented: Row { root_still: [0.25, 0.21, 0.18], dusk_run: [0.12, 0.07, 0.03], years: [0.75, 0.65, 0.50] },
    real: [
        Row { root_still: [0.19, 0.255, 0.28], dusk_run: [0.15, 0.15, 0.09], years: [0.60, 0.70, 0.70] },
        Row { root_still: [0.143, 0.193, 0.21], dusk_run: [0.087, 0.087, 0.046], years: [0.50, 0.525, 0.55] },
        Row { root_still: [0.115, 0.15, 0.165], dusk_run: [0.055, 0.055, 0.037], years: [0.45, 0.36, 0.40] },
        Row { root_still: [0.09, 0.135, 0.14], dusk_run: [0.048, 0.048, 0.03], years: [0.30, 0.30, 0.28] },
        Row { root_still: [0.062, 0.075, 0.075], dusk_run: [0.035, 0.035, 0.019], years: [0.25, 0.18, 0.18] },
    ],
};

impl WeatherInput {
    /// Of the files of a place; at least one.
    pub fn of(years: &[TypicalYear]) -> WeatherInput {
        let kind = |y: &TypicalYear| match y.kind {
            _ if y.invented => InputKind::Invented,
            YearKind::Typical => InputKind::Typical,
            YearKind::Real => InputKind::Real,
        };
        let any = |wanted: InputKind| years.iter().any(|y| kind(y) == wanted);
        let kind = match () {
            () if any(InputKind::Invented) => InputKind::Invented,
            () if any(InputKind::Typical) => InputKind::Typical,
            () => InputKind::Real,
        };
        WeatherInput { kind, files: years.len() }
    }

    /// Pools of real years that would tell more about a place, smallest first: three, and ten.
    pub fn better(self) -> impl Iterator<Item = WeatherInput> {
        let real = self.kind == InputKind::Real;
        let files = self.files;
        [3, 10]
            .into_iter()
            .filter(move |n| !real || *n > files)
            .map(|files| WeatherInput { kind: InputKind::Real, files })
    }

    /// The error for a build whose full battery runs the wanted load for `store_d` days (0: no battery). Several typical or
    /// invented years are taken to know no more than one.
    pub fn error(self, store_d: f64) -> InputError {
        match self.kind {
            InputKind::Typical => TABLE.typical.at(store_d),
            InputKind::Invented => TABLE.invented.at(store_d),
            InputKind::Real => real(self.files, store_d),
        }
    }
}

/// Of a pool of real years: straight lines over the logarithm of their number, and beyond the largest pool measured by its
/// square root.
fn real(files: usize, store_d: f64) -> InputError {
    let at = |i: usize| TABLE.real[i].at(store_d);
    let last = POOLS.len() - 1;
    if files >= POOLS[last] {
        return at(last).times((POOLS[last] as f64 / files as f64).sqrt());
    }
    let i = POOLS.iter().rposition(|n| *n <= files).unwrap_or(0);
    let ln = |n: usize| libm::log(n as f64);
    let part = (ln(files.max(1)) - ln(POOLS[i])) / (ln(POOLS[i + 1]) - ln(POOLS[i]));
    at(i).towards(at(i + 1), part)
}

impl Row {
    /// Straight lines between the stores measured; level beyond them.
    fn at(&self, store_d: f64) -> InputError {
        let of = |i: usize| InputError {
            root_still: self.root_still[i],
            dusk_run: self.dusk_run[i],
            years: self.years[i],
        };
        let store_d = store_d.clamp(STORES_D[0], STORES_D[2]);
        let i = usize::from(store_d >= STORES_D[1]);
        of(i).towards(of(i + 1), (store_d - STORES_D[i]) / (STORES_D[i + 1] - STORES_D[i]))
    }
}

impl InputError {
    fn towards(self, other: InputError, part: f64) -> InputError {
        let between = |a: f64, b: f64| a + part * (b - a);
        InputError {
            root_still: between(self.root_still, other.root_still),
            dusk_run: between(self.dusk_run, other.dusk_run),
            years: between(self.years, other.years),
        }
    }

    fn times(self, factor: f64) -> InputError {
        InputError {
            root_still: factor * self.root_still,
            dusk_run: factor * self.dusk_run,
            years: factor * self.years,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn more_years_and_better_kinds_leave_smaller_errors() {
        for store_d in [0.0, 0.5, 1.2, 2.0, 3.2, 10.0] {
            let of = |kind, files| WeatherInput { kind, files }.error(store_d).root_still;
            let pools: Vec<f64> = (1..60).map(|n| of(InputKind::Real, n)).collect();
            assert!(pools.windows(2).all(|w| w[1] < w[0]), "{pools:?}");
            assert!(of(InputKind::Typical, 1) < of(InputKind::Real, 1));
            assert!(of(InputKind::Typical, 1) < of(InputKind::Invented, 1));
        }
    }

    #[test]
    fn what_was_measured_is_given_back() {
        for (i, files) in POOLS.into_iter().enumerate() {
            for (k, store_d) in STORES_D.into_iter().enumerate() {
                let e = WeatherInput { kind: InputKind::Real, files }.error(store_d);
                assert!((e.root_still - TABLE.real[i].root_still[k]).abs() < 1e-12);
                assert!((e.years - TABLE.real[i].years[k]).abs() < 1e-12);
            }
        }
    }
}
