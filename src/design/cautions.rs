//! Cautions that belong to a design: the usual ones of the trade, in our words.

use super::{Chemistry, Design, MountKind};
use crate::units::Uncertain;

/// Voltage without load above which a string of panels is no longer harmless to touch near water:
/// the limit for direct current in wet places that many codes use (common practice, no source;
/// the local code decides).
const TOUCH_V: f64 = 30.0;

/// Cautions for this design, most pressing first. They do not replace the local code.
pub fn cautions(design: &Design<Uncertain>) -> Vec<String> {
    let mut list: Vec<&str> = Vec::new();
    match design.battery.as_ref().map(|b| b.chemistry) {
        Some(Chemistry::LithiumIon | Chemistry::LithiumIronPhosphate) => list.push(
            "Lithium cells must not be charged below 0 °C. Use a protection board made for this chemistry, \
             never mix chemistries or their chargers, and retire cells that are swollen or have been under water.",
        ),
        Some(Chemistry::LeadAcid | Chemistry::NickelMetalHydride) => list.push(
            "This battery gives off hydrogen when charged hard: house it with openings low and high, away \
             from sparks and flames, and stand it in a tray that bears its liquid.",
        ),
        None => {}
    }
    if design.battery.is_some() {
        list.push("Put a fuse right at the battery terminal, sized for the wire it protects.");
    }
    list.push(
        "Keep to extra-low voltage in and near the basin. Pump, glands and splices must be rated for \
         immersion; lead cables in drip loops and make connections above the highest water level.",
    );
    if design.panel.open_circuit_voltage_v.highest() > TOUCH_V {
        list.push(
            "This panel's voltage without load is high enough to hurt in wet places: have the installation \
             judged by a licensed electrician.",
        );
    }
    list.push(
        "Panels and batteries cannot be switched off: cover the panel before wiring. Its voltage is \
         highest in cold sun.",
    );
    list.push(
        "Anything fed from the mains, a charger too, needs a residual-current device and a place outside \
         the zones your code draws around water, and is work for a licensed electrician.",
    );
    list.push(
        "Before digging, have buried pipes and cables located; protect your own cable from spade and \
         mower, and mark where it runs.",
    );
    if design.mount.kind != MountKind::Fixed {
        list.push(
            "A moving mount pinches, and a stalled motor heats up: limit its current, keep fingers out of \
             it, and let it lie flat in strong wind.",
        );
    }
    list.push(
        "The pump must not run dry. Before frost, drain it or take it out: ice jams the impeller and \
         splits the housing.",
    );
    list.push("Open water is a danger to small children, however shallow.");
    list.push(
        "These cautions are not complete. Follow your local code, and where it asks for one, have a \
         licensed person do the work.",
    );
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
        assert!(of(lead, "fixed").contains("hydrogen") && !of(lead, "fixed").contains("pinches"));
        let bare = of("", "light-seeking");
        assert!(bare.contains("pinches") && !bare.contains("fuse") && bare.contains("local code"));
    }
}
