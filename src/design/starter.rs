//! The commented design that `stilldays new` writes.

/// A commented first design for the weather file at `weather_path` (as written into the file,
/// relative to it). The checker accepts it; the build in it is invented.
pub fn starter(weather_path: &str) -> String {
    let path = toml::Value::String(weather_path.to_owned()).to_string();
    STARTER.replace("{WEATHER}", &path)
}

const STARTER: &str = r#"# A design: one build at one place. The build below is invented; replace it by your own.
#
# Every physical value is a text with its unit and, if it is not known exactly, its uncertainty:
#   "10 W"                      exactly 10 W
#   "10 W ± 5 %"                (or +/-) about 19 of 20 such parts are within 5 %
#   "8 to 12 W"                 any value in this range
#   "8 to 12 W, likely 10 W"    the same, with a most likely value
# Lines that begin with # are comments. Those that contain a key show its default or another
# choice: remove the # to change it. `stilldays manual keys` lists every key.

title = "Millstone basin behind the library"

[site]
# A typical year of hourly weather for your place (EPW, TMY3 or plain CSV; may be gzipped).
weather = {WEATHER}
# Obstacles between panel and horizon: azimuth (90 = east, 180 = south) and height.
skyline = [["80 deg", "12 deg"], ["120 deg", "20 deg"], ["170 deg", "6 deg"]]

[wish]
season = "04-01 to 10-31"
hours = "sunrise + 1 h to sunset + 1 h"
jet = "20 cm"                    # a lower jet does not count
# still_below = "30 min"         # a day with fewer minutes of jet is a still day
# enough = "50 %"                # a day with less of its wanted time is a short day
dusk_run = "60 min"              # how long the jet should run after sunset
# still_days = 2                 # acceptable still days a month ...
# confidence = "90 %"            # ... in this share of years

[panel]
# From its label. Power and one voltage are enough; more values make the results more certain.
rated_power = "10 W ± 5 %"
open_circuit_voltage = "10.8 V"
short_circuit_current = "1.25 A"
# soiling = "0 to 6 %, likely 2 %"
# low_light = "scaled shunt"     # or "constant shunt", or between: 0.2

[mount]
kind = "fixed"                   # or "sun-following", "light-seeking"
tilt = "40 deg"
azimuth = "180 deg"              # 180 deg faces south
# For a light-seeking mount:
# motor_current = "150 mA ± 30 %"
# lowest_voltage = "4.5 V"
# standby_current = "8 mA"
# head = "walls"                 # or "tilted", "back-to-back"

# Without the table [battery] the panel feeds the pump directly.
[battery]
chemistry = "lithium iron phosphate"   # or "lithium ion", "lead-acid", "nickel-metal hydride"
voltage = "6.4 V"
capacity = "3 Ah ± 10 %"
# capacity_left = "80 to 90 %"   # for a battery that is some years old
# kept_above_freezing = true     # it is indoors or buried

[electronics]
charging = "pwm"                 # or "direct", "mppt"
# cut_off = "5.8 V"              # the pump is switched off when the battery falls to this ...
# reconnect = "6.4 V"            # ... and on again when it has risen to this
standby_current = "2 mA ± 50 %"
# fed_first = "pump"             # or "mount": the pump waits while the mount moves

[pump]
kind = "electronic"              # or "brushed"
# Voltage, current and height of the jet: measured, or one row from the label.
bench = [
    ["3 V", "110 mA ± 10 %", "12 cm"],
    ["6 V", "290 mA ± 10 %", "43 cm"],
]

[water]
area = "0.5 m2"
usable = "20 L"                  # above the low-water mark
top_up = "every 7 days"          # or "always", "rain"

[prices]                         # any names, in your currency; leave out unknown prices
# currency = "EUR"               # shown with every amount of money
panel = 18
battery = 12
pump = 9

# Changes to compare with one another; each may set any keys of this file.
[[remedy]]
name = "battery 6 Ah"
price = 14
battery.capacity = "6 Ah ± 10 %"

[[remedy]]
name = "hedge trimmed"
remove = "site.skyline"
"#;

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::{Path, PathBuf};

    #[test]
    fn the_checker_accepts_it_without_a_warning_and_without_comments_too() {
        for path in ["weather/place.epw", "C:\\years\\a \"b\".csv"] {
            let file =
                crate::design::parse(Path::new("new.toml"), starter(path)).unwrap_or_else(|p| panic!("{p}"));
            assert!(file.warnings.is_empty(), "{}", file.warnings);
            assert_eq!(file.design.site.weather, [PathBuf::from(path)]);
            assert_eq!(file.remedies.len(), 2);
        }
        assert!((60..=100).contains(&STARTER.lines().count()));
    }

    #[test]
    fn every_key_shown_in_a_comment_is_known_and_takes_the_value_shown() {
        // Uncomment one line at a time; only for a moving mount do the mount's lines apply.
        let lines: Vec<&str> = STARTER.lines().collect();
        let mut tried = 0;
        for (k, line) in lines.iter().enumerate() {
            let Some(key) = line.strip_prefix("# ").filter(|l| l.split(' ').nth(1) == Some("=")) else {
                continue;
            };
            let text: Vec<&str> =
                lines.iter().enumerate().map(|(j, l)| if j == k { key } else { l }).collect();
            let text = text.join("\n").replace("{WEATHER}", "\"a.csv\"");
            let file =
                crate::design::parse(Path::new("new.toml"), text).unwrap_or_else(|p| panic!("{key}\n{p}"));
            assert!(file.warnings.list.iter().all(|w| w.title.contains("no effect")), "{}", file.warnings);
            tried += 1;
        }
        assert!(tried >= 15, "{tried}");
    }
}
