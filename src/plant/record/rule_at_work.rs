//! Which rule of `[running]` is at work in a minute. The order of the rules is defined here and nowhere else.

/// A rule of `[running]` that holds the pump back or slows it down; of several the first of this list is the one at work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum RuleAtWork {
    /// It rains.
    Rain,
    /// The hours of a timer.
    Hours,
    /// The light switch.
    Light,
    /// Charge is kept for the evening.
    Reserve,
    /// The hold of the morning.
    Hold,
    /// The resting part of an interval.
    Rest,
    /// The third speed.
    Slower,
    /// The second speed.
    Slow,
}

impl RuleAtWork {
    /// All rules in order; each stands at its own number.
    pub const ALL: [RuleAtWork; 8] = [
        RuleAtWork::Rain,
        RuleAtWork::Hours,
        RuleAtWork::Light,
        RuleAtWork::Reserve,
        RuleAtWork::Hold,
        RuleAtWork::Rest,
        RuleAtWork::Slower,
        RuleAtWork::Slow,
    ];

    /// Its number over lanes, from 1 on; 0 stands for none.
    pub(crate) fn number(self) -> f64 {
        f64::from(self as u8) + 1.0
    }

    /// The rule of a number.
    pub(crate) fn of_number(number: f64) -> Option<RuleAtWork> {
        (number as usize).checked_sub(1).and_then(|k| Self::ALL.get(k).copied())
    }

    /// Whether it stops the pump; otherwise it slows it down.
    pub fn holds(self) -> bool {
        !matches!(self, RuleAtWork::Slower | RuleAtWork::Slow)
    }

    /// Key in CSV.
    pub(crate) fn key(self) -> &'static str {
        match self {
            RuleAtWork::Rain => "rain",
            RuleAtWork::Hours => "hours",
            RuleAtWork::Light => "light",
            RuleAtWork::Reserve => "reserve",
            RuleAtWork::Hold => "hold",
            RuleAtWork::Rest => "rest",
            RuleAtWork::Slower => "slower",
            RuleAtWork::Slow => "slow",
        }
    }

    /// Words for people.
    pub fn words(self) -> &'static str {
        match self {
            RuleAtWork::Rain => "off in rain",
            RuleAtWork::Hours => "outside the hours of the timer",
            RuleAtWork::Light => "the light switch is off",
            RuleAtWork::Reserve => "a reserve is kept",
            RuleAtWork::Hold => "held in the morning",
            RuleAtWork::Rest => "rests in turn",
            RuleAtWork::Slower => "runs at the third speed",
            RuleAtWork::Slow => "runs slower",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_rule_is_found_by_its_number() {
        for rule in RuleAtWork::ALL {
            assert_eq!(RuleAtWork::of_number(rule.number()), Some(rule));
        }
        assert_eq!(RuleAtWork::of_number(0.0), None);
        assert_eq!(RuleAtWork::of_number(9.0), None);
    }
}
