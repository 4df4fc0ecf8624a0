//! Numbers behind defaults that follow from other keys: their one home.
//!
//! The key table (`keys`) writes them out for the reference page, the readers (`tables`) apply them. What follows from
//! a battery's chemistry is in `chemistry`, from a panel's cells in `label`; defaults without a rule stand in the key table itself. Where no source
//! is named, a number is common practice, no source.

/// Electronics that serve a battery: standby current.
pub(super) const STANDBY_WITH_BATTERY: &str = "1 to 5 mA, likely 2 mA";
/// Battery of lithium: how much warmer than at its frost lock it must be to be charged again, K.
pub(super) const FROST_UNLOCK_K: f64 = 3.0;
/// A battery that frost never locks, as a temperature, °C.
pub(super) const NO_FROST_LOCK_C: f64 = -100.0;
/// Battery: relative standard deviation of the cycles to end of life.
pub(super) const CYCLES_SD: f64 = 0.25;

/// Pump: highest voltage over voltage of the last bench row.
pub(super) const HIGHEST_OVER_LAST_BENCH_V: f64 = 1.2;
/// Electronic pump: start voltage over voltage of the last bench row, lowest and highest.
pub(super) const START_OVER_LAST_BENCH_V: (f64, f64) = (0.48, 0.56);
/// Electronic pump: stop voltage over start voltage.
pub(super) const STOP_OVER_START_V: f64 = 0.85;
/// Brushed pump: stop voltage over start voltage.
pub(super) const BRUSHED_STOP_OVER_START_V: f64 = 0.5;
/// Brushed pump: break-away current over friction current, lowest and highest.
pub(super) const BREAK_AWAY_OVER_FRICTION_A: (f64, f64) = (1.3, 2.1);
/// Brushed pump: winding resistance over voltage by current of the last bench row: lowest, likely, highest.
pub(super) const WINDING_OVER_LAST_BENCH_OHM: (f64, f64, f64) = (0.1, 0.2, 0.3);
/// Pump: power of the jet over electric power at the last bench row: lowest, likely, highest.
pub(super) const JET_OVER_ELECTRIC_W: (f64, f64, f64) = (0.08, 0.15, 0.25);

/// Wished dusk run where the wanted hours end at a clock time, min.
pub(super) const DUSK_RUN_BY_CLOCK_MIN: f64 = 60.0;

/// A rule of `[running]`: charge from which it ends over the charge below which it acts, percentage points as a share; usual
/// and least.
pub(super) const USUAL_GAP_SHARE: f64 = 0.10;
pub(super) const LEAST_GAP_SHARE: f64 = 0.05;
/// The same by voltage: over the voltage below which it acts, and over what the voltage rises by when the pump stops.
pub(super) const ENDS_OVER_BELOW: f64 = 1.03;
pub(super) const ENDS_OVER_REBOUND: f64 = 1.5;
/// Share of its voltage that a slowed pump gets: second and third speed.
pub(super) const SLOW_SPEED_SHARE: f64 = 0.7;
pub(super) const SLOWER_SPEED_SHARE: f64 = 0.5;
