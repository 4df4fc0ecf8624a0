//! Cautions that apply to a design: the usual ones of the trade. The local code and licensed practice come first.

use super::parts::{Chemistry, MountKind};
use super::whole::Design;
use crate::units::Uncertain;

/// Open-circuit voltage above which touching a string of panels near water is no longer harmless:
/// the limit for direct current in wet places that many codes use (common practice, no source;
/// the local code decides).
const TOUCH_V: f64 = 30.0;

const EXTRA_LOW: &str = "Use only extra-low voltage in and near the basin. Pump, cable glands and splices must be rated for \
         immersion; give cables drip loops, and make connections above the highest water level.";
const CANNOT_BE_SWITCHED: &str = "Panels and batteries cannot be switched off: cover the panel before wiring. Its voltage is \
         highest in cold, sunny weather.";
const MAINS: &str = "Anything connected to the mains, chargers included, needs a residual-current device and a place outside \
         the zones around water that your code defines, and must be installed by a licensed electrician.";
const DIGGING: &str = "Before digging, have buried pipes and cables located. Protect your own cable from spades and \
         mowers, and mark where it runs.";
const RUN_DRY: &str = "The pump must not run dry. Drain it or take it out before frost: ice blocks the impeller and \
         cracks the housing.";
const CHILDREN: &str = "Open water is dangerous to small children, even if it is shallow.";
const NOT_COMPLETE: &str = "These cautions are not complete. Follow your local code, and leave work to licensed persons where it \
         requires them.";

/// Cautions that hold whatever the design, most pressing first.
pub fn general_cautions() -> Vec<String> {
    [EXTRA_LOW, CANNOT_BE_SWITCHED, MAINS, DIGGING, RUN_DRY, CHILDREN, NOT_COMPLETE]
        .map(str::to_owned)
        .to_vec()
}

/// Cautions for this design, most pressing first. They do not replace the local code.
pub fn cautions(design: &Design<Uncertain>) -> Vec<String> {
    let mut list: Vec<&str> = Vec::new();
    match design.battery.as_ref().map(|b| b.chemistry) {
        Some(Chemistry::LithiumIon | Chemistry::LithiumIronPhosphate) => list.push(
            "Lithium cells must not be charged below 0 °C. Use a protection board for this chemistry, never \
             mix chemistries or their chargers, and dispose of cells that are swollen or have been under water.",
        ),
        Some(Chemistry::LeadAcid | Chemistry::NickelMetalHydride) => list.push(
            "This battery can give off hydrogen while charging: put it in a housing with ventilation openings at the \
             bottom and top, away from sparks and flames, and in a tray that withstands its electrolyte.",
        ),
        None => {}
    }
    if design.battery.is_some() {
        list.push("Install a fuse directly at the battery terminal, rated for the wire that it protects.");
    }
    list.push(EXTRA_LOW);
    if design.panel.open_circuit_voltage_v.highest() > TOUCH_V {
        list.push(
            "The open-circuit voltage of this panel is high enough to be dangerous in wet places: have a \
             licensed electrician check the installation.",
        );
    }
    list.push(CANNOT_BE_SWITCHED);
    list.push(MAINS);
    list.push(DIGGING);
    if design.mount.kind != MountKind::Fixed {
        list.push(
            "A moving mount can pinch fingers, and a stalled motor heats up: keep hands away, limit the current of \
             the motors, and park the mount flat in strong wind.",
        );
    }
    list.push(RUN_DRY);
    list.push(CHILDREN);
    list.push(NOT_COMPLETE);
    list.into_iter().map(str::to_owned).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::path::Path;

    #[test]
    fn cautions_fit_the_design() {
        let text = |battery: &str, mount: &str| {
            format!(
                "[site]\nweather = \"a\"\n[panel]\nrated_power = \"10 W\"\nmax_power_voltage = \"9 V\"\n{battery}\n\
                 [mount]\nkind = \"{mount}\"\n[pump]\nbench = [[\"6 V\", \"290 mA\", \"430 mm\"]]\n"
            )
        };
        let of = |battery: &str, mount: &str| {
            let text = text(battery, mount);
            let file = crate::design::parse(Path::new("c.toml"), text).unwrap_or_else(|p| panic!("{p}"));
            cautions(&file.design).join("\n")
        };
        let lithium = "[battery]\nchemistry = \"LFP\"\nvoltage = \"6.4 V\"\ncapacity = \"3 Ah\"";
        let lead = "[battery]\nchemistry = \"AGM\"\nvoltage = \"6 V\"\ncapacity = \"4 Ah\"";
        assert!(of(lithium, "fixed").contains("below 0 °C") && !of(lithium, "fixed").contains("hydrogen"));
        assert!(of(lead, "fixed").contains("hydrogen") && !of(lead, "fixed").contains("pinch"));
        let bare = of("", "light-seeking");
        assert!(bare.contains("pinch") && !bare.contains("fuse") && bare.contains("local code"));
    }
}
