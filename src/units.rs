//! Quantities with units and uncertainty.
//!
//! Inside the program a number is in the base unit of its kind, named in the field's suffix:
//! W, V, A, Ah, Wh, ohm, m, m/s, L, min, °, °C, and shares of 1. Text with other units
//! (mAh, in, gal, °F, %) is turned into them here, and nowhere else.

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
    /// `lo to hi`: anything between, alike.
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

impl Uncertain {
    /// A value taken as known.
    pub const fn exact(nominal: f64) -> Self {
        Uncertain { nominal, spread: Spread::Exact }
    }
    /// Whether nothing is left open.
    pub fn is_exact(&self) -> bool {
        self.spread == Spread::Exact
    }
}
