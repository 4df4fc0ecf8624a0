//! The built-in remedies: changes that are tried for every design that they fit.

use super::running_rules::running_rules;
use crate::design::{
    Change, Charging, Chemistry, DayTime, Design, DesignFile, FedFirst, MountKind, Remedy, RunsWhen, TopUp,
};
use crate::units::Uncertain;

/// How often the panel is cleaned where that is tried as a remedy, days (own choice: what a builder may keep up).
const CLEANED_EVERY_DAYS: u16 = 14;

/// What was seen of a basin.
#[derive(Clone, Copy, Debug, Default)]
pub struct Basin {
    /// It falls to low water.
    pub runs_low: bool,
    /// Ice stops the jet.
    pub freezes: bool,
}

/// The built-in remedies that fit a design. What helps against what was seen of its basin comes first.
pub fn built_in(file: &DesignFile, basin: Basin) -> Vec<Remedy> {
    let d = &file.design;
    let mut list = for_the_basin(file, basin);
    let mut add = |name: &str, price: Option<f64>, changes: Vec<(String, Change)>| {
        list.push(Remedy { name: name.to_owned(), price, changes });
    };
    let set = |key: &str, value: &str| (key.to_owned(), Change::Set(toml::Value::String(value.to_owned())));
    let scale = |key: &str, factor: f64| {
        let mut all = vec![(key.to_owned(), Change::Scale(factor))];
        all.extend(file.companions(key, factor));
        all
    };

    if let Some(battery) = &d.battery {
        add("battery twice as big", d.price_of("battery"), scale("battery.capacity", 2.0));
        let lithium = matches!(battery.chemistry, Chemistry::LithiumIon | Chemistry::LithiumIronPhosphate);
        if lithium && !battery.kept_above_freezing {
            let on = Change::Set(toml::Value::Boolean(true));
            add("battery kept above freezing", None, vec![("battery.kept_above_freezing".to_owned(), on)]);
        }
        if d.electronics.charging != Charging::Mppt {
            add("charger with power tracking", None, vec![set("electronics.charging", "mppt")]);
        }
        if d.electronics.socket.as_ref().is_some_and(|s| s.sleeps_below_a.highest() > 0.0) {
            add("socket that never sleeps", None, vec![set("electronics.socket_sleeps_below", "0 mA")]);
        }
        let (cut_off, reconnect) = (d.electronics.cut_off_v.nominal, d.electronics.reconnect_v.nominal);
        let sooner = cut_off + 0.6 * (reconnect - cut_off);
        add(
            "pump reconnected sooner",
            Some(0.0),
            vec![set("electronics.reconnect", &format!("{sooner:.3} V"))],
        );
    }
    add("panel twice as big", d.price_of("panel"), scale("panel.rated_power", 2.0));
    if d.mount.kind == MountKind::Fixed {
        add(
            "light-seeking mount",
            d.price_of("mount"),
            vec![("mount".to_owned(), Change::Remove), set("mount.kind", "light-seeking")],
        );
    } else {
        add(
            "fixed panel of the same size",
            d.price_of("mount").map(|p| -p),
            vec![("mount".to_owned(), Change::Remove), set("mount.kind", "fixed")],
        );
        if d.battery.is_none() && d.electronics.fed_first == FedFirst::Pump {
            add("mount fed first", None, vec![set("electronics.fed_first", "mount")]);
        }
    }
    if !d.site.skyline.is_empty() {
        add("skyline cleared", None, vec![("site.skyline".to_owned(), Change::Remove)]);
    }
    for (name, changes) in running_rules(d) {
        add(name, Some(0.0), changes);
    }
    if d.panel.cable.length_m.nominal > 0.0 && d.panel.cable.resistance_ohm.nominal == 0.0 {
        add("cable twice as thick", None, scale("panel.cable_section", 2.0));
    }
    for (name, change) in what_lies_on_the_panel(d) {
        add(&name, Some(0.0), vec![change]);
    }
    add("pump run slower", Some(0.0), scale("pump.highest_voltage", 0.85));
    let halved = ["electronics.standby_current", "mount.standby_current"]
        .into_iter()
        .filter(|key| file.quantity(key).is_some_and(|q| q.nominal > 0.0))
        .filter(|key| d.mount.kind != MountKind::Fixed || !key.starts_with("mount"))
        .map(|key| (key.to_owned(), Change::Scale(0.5)))
        .collect::<Vec<_>>();
    if !halved.is_empty() {
        add("standby draw halved", None, halved);
    }
    if let Some(hours) = one_hour_shorter(d.wish.from, d.wish.to) {
        add("wanted one hour less in the evening", Some(0.0), vec![set("wish.hours", &hours)]);
    }
    list
}

/// What takes dirt and covers off the panel.
fn what_lies_on_the_panel(d: &Design<Uncertain>) -> Vec<(String, (String, Change))> {
    let mut list = Vec::new();
    let every = d.care.clean_panel_every_days;
    if (d.panel.dirt.grows || d.panel.litter.falls) && every.is_none_or(|days| days > CLEANED_EVERY_DAYS) {
        let days = Change::Set(toml::Value::Integer(i64::from(CLEANED_EVERY_DAYS)));
        let name = format!("panel cleaned every {CLEANED_EVERY_DAYS} days");
        list.push((name, ("care.clean_panel_every".to_owned(), days)));
    }
    if d.panel.cover.cells.highest() > 0.0 {
        let uncovered = ("panel.covered_cells".to_owned(), Change::Remove);
        list.push(("nothing on the panel".to_owned(), uncovered));
    }
    list
}

/// What helps against what was seen of the basin.
fn for_the_basin(file: &DesignFile, basin: Basin) -> Vec<Remedy> {
    let mut list = if basin.runs_low { against_low_water(file) } else { Vec::new() };
    if basin.freezes {
        list.extend(against_ice(&file.design));
    }
    list
}

/// What keeps a jet from freezing: more water that has to cool, and a pump that does not rest at night.
fn against_ice(d: &Design<Uncertain>) -> Vec<Remedy> {
    let mut list = vec![("basin twice as deep", None, vec![("water.depth".to_owned(), Change::Scale(2.0))])];
    if d.running.when != RunsWhen::Always {
        let always = Change::Set(toml::Value::String("always".to_owned()));
        let changes = vec![("running.hours".to_owned(), Change::Remove), ("running.when".to_owned(), always)];
        list.push(("pump let run at night, too", Some(0.0), changes));
    }
    list.into_iter().map(|(name, price, changes)| Remedy { name: name.to_owned(), price, changes }).collect()
}

/// What keeps a basin from falling low: more water, or less of it lost.
fn against_low_water(file: &DesignFile) -> Vec<Remedy> {
    let d = &file.design;
    let set = |key: &str, value: String| (key.to_owned(), Change::Set(toml::Value::String(value)));
    let scale = |key: &str, factor: f64| (key.to_owned(), Change::Scale(factor));
    let mut list =
        vec![("basin kept full by a float valve", None, vec![set("water.top_up", "always".to_owned())])];
    match d.water.top_up {
        TopUp::Always => return Vec::new(),
        TopUp::Every(1) => {}
        TopUp::Every(days) => {
            let half = format!("every {} days", (days / 2).max(1));
            list.push(("basin filled twice as often", Some(0.0), vec![set("water.top_up", half)]));
        }
        TopUp::Rain => {
            let week = "every 7 days".to_owned();
            list.push(("basin filled every week", Some(0.0), vec![set("water.top_up", week)]));
        }
    }
    list.push(("rim half as far again from the jet", None, vec![scale("water.rim", 1.5)]));
    let lower = vec![scale("wish.jet", 0.8), scale("pump.highest_voltage", 0.9)];
    list.push(("jet a fifth lower, and wished so", Some(0.0), lower));
    let still_air_m_s = drops_reach_the_rim_m_s(d);
    if d.water.wind_cut_off_m_s.is_none_or(|now| still_air_m_s < now) {
        let cut_off = vec![set("water.wind_cut_off", format!("{still_air_m_s} m/s"))];
        list.push(("pump stopped in wind that carries drops away", None, cut_off));
    }
    list.into_iter().map(|(name, price, changes)| Remedy { name: name.to_owned(), price, changes }).collect()
}

/// Wind of the weather file at which drops that fall from the top of the wished jet begin to reach the rim, m/s, to half a metre per
/// second, from 1 to 12: rim/sqrt(2 h/g) at the basin.
fn drops_reach_the_rim_m_s(d: &Design<Uncertain>) -> f64 {
    const G_M_S2: f64 = 9.81;
    let fall_s = (2.0 * d.wish.jet_m.nominal.max(0.01) / G_M_S2).sqrt();
    let at_10_m = d.water.rim_m.nominal / fall_s / d.water.wind_share.nominal.max(0.01);
    ((2.0 * at_10_m).floor() / 2.0).clamp(1.0, 12.0)
}

fn one_hour_shorter(from: DayTime, to: DayTime) -> Option<String> {
    let to = match to {
        DayTime::Sunrise(m) => DayTime::Sunrise(m - 60.0),
        DayTime::Sunset(m) => DayTime::Sunset(m - 60.0),
        DayTime::Clock(m) if m >= 60.0 => DayTime::Clock(m - 60.0),
        DayTime::Clock(_) => return None,
    };
    Some(format!("{} to {}", words(from), words(to)))
}

fn words(time: DayTime) -> String {
    let offset = |name: &str, m: f64| format!("{name} {} {} min", if m < 0.0 { "-" } else { "+" }, m.abs());
    match time {
        DayTime::Sunrise(m) => offset("sunrise", m),
        DayTime::Sunset(m) => offset("sunset", m),
        DayTime::Clock(m) => format!("{:02}:{:02}", (m / 60.0) as u32, (m % 60.0) as u32),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hours_are_written_as_the_file_would() {
        assert_eq!(
            one_hour_shorter(DayTime::Sunrise(30.0), DayTime::Sunset(120.0)).as_deref(),
            Some("sunrise + 30 min to sunset + 60 min")
        );
        assert_eq!(
            one_hour_shorter(DayTime::Clock(480.0), DayTime::Clock(1290.0)).as_deref(),
            Some("08:00 to 20:30")
        );
        assert_eq!(one_hour_shorter(DayTime::Clock(0.0), DayTime::Clock(30.0)), None);
    }
}
