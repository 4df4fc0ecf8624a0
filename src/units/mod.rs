//! Quantities with units and uncertainty.
//!
//! Inside the program a number is in the base unit of its [`Dimension`], named in the field's
//! suffix: W, V, A, Ah, Wh, ohm, m, m/s, L, min, °, °C, and shares of 1. Text with other units
//! (mAh, in, gal, °F, %) is turned into them here, and nowhere else.
//!
//! ```
//! use stilldays::units::{Dimension, Spread, System, parse, show_uncertain};
//!
//! let capacity = parse("1500 mAh ± 10 %", Dimension::Charge)?;
//! assert_eq!(capacity.nominal, 1.5);
//! // ± is an expanded uncertainty: twice the standard deviation.
//! let Spread::Normal { sd } = capacity.spread else { panic!() };
//! assert!((sd - 0.075).abs() < 1e-12);
//! assert_eq!(show_uncertain(&capacity, Dimension::Charge, 3, System::Si), "1.5 Ah ± 0.15 Ah");
//!
//! let wrong = parse("6 V", Dimension::Charge).unwrap_err();
//! assert_eq!(wrong.span, 2..3);
//! # Ok::<(), stilldays::units::QuantityError>(())
//! ```
//!
//! What a value may be and which keys hold one is in [`design`](crate::design); how a draw is made from a spread, in
//! [`design::Design::draw`](crate::design::Design::draw).

pub(crate) mod bisection;
pub mod dates;
mod dimension;
pub(crate) mod letters;
mod parse;
mod quantile;
mod show;

pub use dimension::Dimension;
pub use parse::{QuantityError, duration_min, parse};
pub use quantile::normal_quantile;
pub use show::{System, show, show_uncertain, significant, text};

/// A value and how far its label may be off, in the base unit of its kind.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertain {
    /// The value a single run would use.
    pub nominal: f64,
    /// The shape of what is not known.
    pub spread: Spread,
}

/// The shape of what is not known, after JCGM 100:2008 (GUM) 4.3.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread {
    /// Taken as known.
    Exact,
    /// `±`: expanded uncertainty with k = 2, so `sd` is half of it; cut at three `sd`.
    Normal {
        /// Standard deviation.
        sd: f64,
    },
    /// `lo to hi`: uniform between.
    Rectangular {
        /// Lower end.
        lo: f64,
        /// Upper end.
        hi: f64,
    },
    /// `lo to hi, likely mode`.
    Triangular {
        /// Lower end.
        lo: f64,
        /// Likeliest value.
        mode: f64,
        /// Upper end.
        hi: f64,
    },
}

/// Where a normal spread is cut, in standard deviations.
pub(crate) const CUT_SD: f64 = 3.0;

impl Uncertain {
    /// A value taken as known.
    pub const fn exact(nominal: f64) -> Self {
        Uncertain { nominal, spread: Spread::Exact }
    }
    /// Uniform from `lo` to `hi`.
    pub(crate) fn between(lo: f64, hi: f64) -> Self {
        Uncertain { nominal: 0.5 * (lo + hi), spread: Spread::Rectangular { lo, hi } }
    }
    /// From `lo` to `hi`, likely `mode`.
    pub(crate) fn likely(lo: f64, mode: f64, hi: f64) -> Self {
        Uncertain { nominal: mode, spread: Spread::Triangular { lo, mode, hi } }
    }
    /// Whether nothing is left open.
    pub fn is_exact(&self) -> bool {
        self.spread == Spread::Exact
    }
    /// The least value it can take.
    pub fn lowest(&self) -> f64 {
        match self.spread {
            Spread::Exact => self.nominal,
            Spread::Normal { sd } => self.nominal - CUT_SD * sd,
            Spread::Rectangular { lo, .. } | Spread::Triangular { lo, .. } => lo,
        }
    }
    /// The greatest value it can take.
    pub fn highest(&self) -> f64 {
        match self.spread {
            Spread::Exact => self.nominal,
            Spread::Normal { sd } => self.nominal + CUT_SD * sd,
            Spread::Rectangular { hi, .. } | Spread::Triangular { hi, .. } => hi,
        }
    }
    /// The same times `factor` (> 0): value and spread scale together.
    pub(crate) fn times(&self, factor: f64) -> Self {
        let spread = match self.spread {
            Spread::Exact => Spread::Exact,
            Spread::Normal { sd } => Spread::Normal { sd: sd * factor },
            Spread::Rectangular { lo, hi } => Spread::Rectangular { lo: lo * factor, hi: hi * factor },
            Spread::Triangular { lo, mode, hi } => {
                Spread::Triangular { lo: lo * factor, mode: mode * factor, hi: hi * factor }
            }
        };
        Uncertain { nominal: self.nominal * factor, spread }
    }
}

#[cfg(test)]
mod tests;
