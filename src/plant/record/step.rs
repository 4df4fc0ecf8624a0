//! The length of the step.

/// One minute, h.
pub(crate) const MINUTE_H: f64 = 1.0 / 60.0;
