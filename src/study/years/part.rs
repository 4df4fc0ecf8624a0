//! A part that fails once it has run for so long, and that is replaced or not: the pump, the mount.

use super::weibull::Weibull;
use crate::design::{Mount, MountKind, Pump, PumpKind};
use crate::seed::{self, Purpose};
use crate::units::normal_quantile;

/// Running hours of pumps (own choice after makers' figures, no source; the shape of brushed ones between the spread within a make
/// and that between makes). A rated life takes the place of the median.
const BRUSHED: Weibull = Weibull { median: 3000.0, shape: 2.5 };
const BRUSHLESS: Weibull = Weibull { median: 15_000.0, shape: 1.8 };
/// Hours for which the motors of a mount run until its gears are worn out (common practice, no source), and by how much makes differ: standard
/// deviation of the logarithm of the median. A rated life takes the place of the median.
const GEARS: Weibull = Weibull { median: 500.0, shape: 2.0 };
const GEARS_LN_SD: f64 = 0.5;

/// What a day uses of a part.
#[derive(Clone, Copy, Debug)]
pub(super) struct Use {
    pub hours: f64,
    pub moves: f64,
}

/// How the life of a part is counted.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Counted {
    Hours,
    Moves,
}

/// A part on its way to its failure.
#[derive(Clone, Debug)]
pub(super) struct Part {
    /// Name of its random streams.
    purpose: &'static str,
    /// Seed and number of the life.
    luck: (u64, u64),
    of_make: Weibull,
    counted: Counted,
    /// How many there have been.
    number: u64,
    life: f64,
    used: f64,
    failed: bool,
    /// Evenings until a new one is there, if somebody sees to it.
    waiting_days: Option<u16>,
}

impl Part {
    /// The pump of a new unit; its luck follows from seed and number of the life.
    pub(super) fn pump(pump: &Pump<f64>, luck: (u64, u64)) -> Part {
        let usual = match pump.kind {
            PumpKind::Brushed => BRUSHED,
            PumpKind::Electronic => BRUSHLESS,
        };
        let of_make = Weibull { median: pump.rated_hours.unwrap_or(usual.median), ..usual };
        Part::new("years.pump_life", luck, (of_make, Counted::Hours))
    }

    /// The mount of a new unit; none if it does not move.
    pub(super) fn mount(mount: &Mount<f64>, (seed, life): (u64, u64)) -> Option<Part> {
        if mount.kind == MountKind::Fixed {
            return None;
        }
        let (median, counted) = match (mount.rated_hours, mount.rated_moves) {
            (Some(hours), _) => (hours, Counted::Hours),
            (None, Some(moves)) => (moves, Counted::Moves),
            (None, None) => {
                let mut rng = seed::stream(seed, Purpose::Part("years.mount_make"), life, 0);
                let normal = normal_quantile(seed::open_unit(&mut rng));
                (GEARS.median * libm::exp(GEARS_LN_SD * normal), Counted::Hours)
            }
        };
        Some(Part::new("years.mount_life", (seed, life), (Weibull { median, ..GEARS }, counted)))
    }

    fn new(purpose: &'static str, luck: (u64, u64), (of_make, counted): (Weibull, Counted)) -> Part {
        let mut part = Part {
            purpose,
            luck,
            of_make,
            counted,
            number: 0,
            life: 0.0,
            used: 0.0,
            failed: false,
            waiting_days: None,
        };
        part.renew();
        part
    }

    /// A new one of the same make, with luck of its own.
    fn renew(&mut self) {
        let (seed, life) = self.luck;
        let mut rng = seed::stream(seed, Purpose::Part(self.purpose), life, self.number);
        self.life = self.of_make.at(seed::open_unit(&mut rng));
        (self.used, self.failed, self.waiting_days) = (0.0, false, None);
        self.number += 1;
    }

    pub(super) fn failed(&self) -> bool {
        self.failed
    }

    /// It is used; it may fail by it.
    pub(super) fn wears(&mut self, by: Use) {
        if self.failed {
            return;
        }
        self.used += match self.counted {
            Counted::Hours => by.hours,
            Counted::Moves => by.moves,
        };
        self.failed = self.used > self.life;
    }

    /// The evening of a day of the season: whether a failed one is replaced, after so many days on which it stood.
    pub(super) fn evening(&mut self, replace_after_days: Option<u16>) -> bool {
        if !self.failed {
            return false;
        }
        self.waiting_days = match self.waiting_days {
            None => replace_after_days,
            Some(days) => Some(days.saturating_sub(1)),
        };
        let now = self.waiting_days == Some(0);
        if now {
            self.renew();
        }
        now
    }

    /// Before a season: a failed one is replaced if it is to be replaced at all.
    pub(super) fn replace_if_failed(&mut self, replace_after_days: Option<u16>) -> bool {
        let now = self.failed && replace_after_days.is_some();
        if now {
            self.renew();
        }
        now
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(median: f64) -> Part {
        Part::new("years.pump_life", (1, 0), (Weibull { median, shape: 50.0 }, Counted::Hours))
    }

    #[test]
    fn a_failed_part_stands_for_as_many_days_as_are_said() {
        for (after, broken_days) in [(Some(0), 0), (Some(1), 1), (Some(5), 5), (None, 40)] {
            let (mut part, mut broken, mut replaced) = (part(24.0), 0, 0);
            for _ in 0..41 {
                broken += u32::from(part.failed());
                // One day is enough to use it up; a broken one is not used.
                if replaced == 0 {
                    part.wears(Use { hours: 48.0, moves: 0.0 });
                }
                replaced += u32::from(part.evening(after));
            }
            assert_eq!((broken, replaced), (broken_days, u32::from(after.is_some())), "{after:?}");
        }
    }

    #[test]
    fn spring_replaces_what_somebody_would_replace() {
        let mut part = part(24.0);
        assert!(!part.replace_if_failed(Some(3)));
        part.wears(Use { hours: 48.0, moves: 0.0 });
        assert!(!part.replace_if_failed(None) && part.failed());
        assert!(part.replace_if_failed(Some(3)) && !part.failed());
    }
}
