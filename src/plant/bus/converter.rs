//! A converter between battery and loads, or between panel and battery.
//!
//! Its loss follows the power P that it gives: `a + b P + c P²` W (the form of Schmidt & Sauer 1996 for inverters; from memory). So it takes
//! `P + a + b P + c P²`, and is best at P = root(a/c).

use crate::lanes::Lane;

/// The loss of a converter.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Converter<V> {
    /// a: without load, W.
    pub idle_w: V,
    /// b: share of the power it gives.
    pub share: V,
    /// c: further share for each W.
    pub share_per_w: V,
}

impl<V: Lane> Converter<V> {
    /// What it takes to give some power, both W.
    #[inline(always)]
    pub(crate) fn taken_w(&self, given_w: V) -> V {
        let c = V::splat;
        self.idle_w + given_w * (c(1.0) + self.share + self.share_per_w * given_w)
    }

    /// What it gives of some power, both W; nothing where that does not carry itself.
    #[inline(always)]
    pub(crate) fn given_w(&self, taken_w: V) -> V {
        let c = V::splat;
        let left = (taken_w - self.idle_w).max(c(0.0));
        let slope = c(1.0) + self.share;
        c(2.0) * left / (slope + (slope * slope + c(4.0) * self.share_per_w * left).sqrt())
    }
}

/// A charger that keeps the panel near its maximum power point. Its own draw is among the loads.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TrackingCharger<V> {
    /// Share of the panel's largest power that it finds.
    pub tracking: V,
    /// What it passes on.
    pub converter: Converter<V>,
}
