//! The built-in remedies: changes that are tried for every design that they fit.

use crate::design::{Change, Charging, Chemistry, DayTime, DesignFile, FedFirst, MountKind, Remedy};

/// The built-in remedies that fit a design.
pub fn built_in(file: &DesignFile) -> Vec<Remedy> {
    let d = &file.design;
    let mut list = Vec::new();
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
