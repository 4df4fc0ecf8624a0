//! What the results of a design are made from. Equal identities give equal bytes.

use crate::study::run::Until;
use serde::{Deserialize, Serialize};

/// What the tally of a design is made from.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Identity {
    /// Version of the program.
    pub version: String,
    /// The design, relative to the folder of the batch, with `/`.
    pub file: String,
    /// SHA-256 of the design's text, hex.
    pub design_sha256: String,
    /// SHA-256 of its weather files, hex.
    pub weather_sha256: String,
    /// Seed.
    pub seed: u64,
    /// When to stop.
    pub until: String,
}

impl Identity {
    /// How this differs from `wanted`; none if they are equal.
    pub fn differs_from(&self, wanted: &Identity) -> Option<String> {
        let Identity { version, file, design_sha256, weather_sha256, seed, until } = self;
        if version != &wanted.version {
            Some(format!("made by version {version}, not {}", wanted.version))
        } else if file != &wanted.file {
            Some(format!("made from {file}, not {}", wanted.file))
        } else if design_sha256 != &wanted.design_sha256 {
            Some("made from another text of the design".to_owned())
        } else if weather_sha256 != &wanted.weather_sha256 {
            Some("made with another weather file".to_owned())
        } else if *seed != wanted.seed {
            Some(format!("made with seed {seed}, not {}", wanted.seed))
        } else if until != &wanted.until {
            Some(format!("made {until}, not {}", wanted.until))
        } else {
            None
        }
    }
}

/// When to stop, as text.
pub(crate) fn until_text(until: Until) -> String {
    match until {
        Until::Trials(n) => format!("with {n} trials"),
        Until::HalfWidth(days) => format!("until ± {days} days"),
    }
}

#[cfg(test)]
pub(super) fn example() -> Identity {
    Identity {
        version: "0.1.0".into(),
        file: "sub/a.toml".into(),
        design_sha256: "d".repeat(64),
        weather_sha256: "e".repeat(64),
        seed: 7,
        until: until_text(Until::Trials(48)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_difference_is_named() {
        let wanted = example();
        assert_eq!(wanted.differs_from(&wanted), None);
        let changed: [(Identity, &str); 6] = [
            (Identity { version: "9".into(), ..example() }, "version 9"),
            (Identity { file: "b.toml".into(), ..example() }, "b.toml"),
            (Identity { design_sha256: String::new(), ..example() }, "text of the design"),
            (Identity { weather_sha256: String::new(), ..example() }, "weather"),
            (Identity { seed: 8, ..example() }, "seed 8, not 7"),
            (Identity { until: until_text(Until::HalfWidth(0.1)), ..example() }, "until ± 0.1 days"),
        ];
        for (other, part) in changed {
            let text = other.differs_from(&wanted).expect("they differ");
            assert!(text.contains(part), "{text}");
        }
    }
}
