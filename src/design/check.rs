//! Place, wish, panel, mount and water: values held against one another, defaults that follow.

use std::f64::consts::PI;

use super::reader::DesignReader;
use super::{DayTime, Head, Mount, MountKind, Panel, Site, Water, Wish, forms};
use crate::units::Uncertain;

pub(super) fn site(s: &mut DesignReader<'_>) -> Option<Site<Uncertain>> {
    let weather = forms::weather(s);
    let skyline = forms::skyline(s);
    let albedo = s.quantity("site.albedo");
    let year_spread = forms::year_spread(s);
    Some(Site { weather: weather?, skyline: skyline?, albedo: albedo?, year_spread: year_spread? })
}

pub(super) fn wish(s: &mut DesignReader<'_>) -> Option<Wish<Uncertain>> {
    let season = forms::season(s);
    let hours = forms::hours(s);
    let jet_m = s.quantity("wish.jet");
    let still_below_min = s.exact("wish.still_below");
    let enough = s.exact("wish.enough");
    let after_sunset = match hours {
        Some((_, DayTime::Sunset(shift))) => Some(shift.max(0.0)),
        _ => None,
    };
    let dusk_run_min = s.exact_or("wish.dusk_run", Some(after_sunset.unwrap_or(60.0)));
    if let (Some(value), Some(asked), Some(wanted)) = (s.value("wish.dusk_run"), dusk_run_min, after_sunset)
        && asked > wanted
    {
        let title = format!("the dusk run of {asked} min can never be met");
        let label = format!("the wanted hours end {wanted} min after sunset");
        s.warn(value.span(), title, &label, "end `hours` later, or ask for a shorter dusk run");
    }
    let pulse_counts_from = s.exact("wish.pulse_counts_from");
    let still_days_a_month = s.exact("wish.still_days");
    let confidence = s.exact("wish.confidence");
    let (from, to) = hours?;
    Some(Wish {
        season: season?,
        from,
        to,
        jet_m: jet_m?,
        still_below_min: still_below_min?,
        enough: enough?,
        dusk_run_min: dusk_run_min?,
        pulse_counts_from: pulse_counts_from?,
        still_days_a_month: still_days_a_month?,
        confidence: confidence?,
    })
}

/// Voltage without load over voltage at maximum power (common practice, no source).
const OPEN_OVER_MAX_POWER: f64 = 1.22;
/// Current into a short circuit over current at maximum power (common practice, no source).
const SHORT_OVER_MAX_POWER: f64 = 1.07;
/// Voltage of one cell at maximum power, V (common practice, no source).
const CELL_MAX_POWER_V: f64 = 0.49;
/// Voltage without load that one silicon cell can have, V.
const CELL_OPEN_V: (f64, f64) = (0.45, 0.78);

pub(super) fn panel(s: &mut DesignReader<'_>) -> Option<Panel<Uncertain>> {
    const POWER: &str = "panel.rated_power";
    const MAX_V: &str = "panel.max_power_voltage";
    const OPEN_V: &str = "panel.open_circuit_voltage";
    const SHORT_A: &str = "panel.short_circuit_current";
    let rated_power = s.quantity(POWER);
    let given_open = if s.given(OPEN_V) { s.quantity(OPEN_V) } else { None };
    let from_open = given_open.map(|v| Uncertain::exact(v.nominal / OPEN_OVER_MAX_POWER));
    let max_v = s.quantity_or(MAX_V, from_open);
    let from_max = max_v.map(|v| Uncertain::exact(v.nominal * OPEN_OVER_MAX_POWER));
    let open_v = if s.given(OPEN_V) { given_open } else { s.quantity_or(OPEN_V, from_max) };
    if !s.given(MAX_V) && !s.given(OPEN_V) {
        let title = "the panel has no voltage";
        let help = "add `open_circuit_voltage` or `max_power_voltage` from its label to [panel]";
        s.contradiction(title, &[("panel", "this table lacks it")], help);
    }
    let max_a = rated_power.zip(max_v).map(|(p, v)| p.nominal / v.nominal);
    let short_a = s.quantity_or(SHORT_A, max_a.map(|a| Uncertain::exact(a * SHORT_OVER_MAX_POWER)));
    if let Some((max_v, open_v)) = max_v.zip(open_v)
        && max_v.highest() >= open_v.lowest()
    {
        let title = "the voltage at maximum power must be below the voltage without load";
        let help = "usual is 80 to 85 % of it; if both are uncertain, keep their spreads apart";
        s.contradiction(title, &[(MAX_V, "not below ..."), (OPEN_V, "... this")], help);
    }
    if let (Some(power), Some(max_v), Some(short_a), Some(max_a)) = (rated_power, max_v, short_a, max_a)
        && max_a >= short_a.nominal
    {
        let title = format!(
            "{} W at {:.4} V are {max_a:.3} A: more than the short-circuit current",
            power.nominal, max_v.nominal
        );
        let places = [(SHORT_A, "less than that"), (POWER, "this power"), (MAX_V, "at this voltage")];
        s.contradiction(title, &places, "usual is 90 to 95 % of it: is one of the three mistyped?");
    }
    let count = s.count("panel.cells");
    let cells = match count {
        Some(cells) => Some(cells as f64),
        None => max_v.map(|v| (v.nominal / CELL_MAX_POWER_V).round().max(1.0)),
    };
    if let Some((cells, open_v)) = cells.zip(open_v) {
        let each = open_v.nominal / cells;
        let (lo, hi) = CELL_OPEN_V;
        if !(lo..=hi).contains(&each) {
            let title =
                format!("{each:.2} V without load for each of {cells} cells: {lo} to {hi} V are possible");
            s.contradiction(
                title,
                &[("panel.cells", "too many or too few"), (OPEN_V, "for this voltage")],
                "count the cells, or leave `cells` out",
            );
        }
        if count.is_none() {
            s.inputs.push(super::Input { key: "panel.cells".into(), value: cells.to_string(), given: false });
        }
    }
    let ideality = s.quantity("panel.ideality");
    let low_light = s.quantity("panel.low_light");
    let soiling = s.quantity("panel.soiling");
    let blocking_drop = s.quantity("panel.blocking_drop");
    let heat_loss = s.quantity("panel.heat_loss");
    let heat_loss_wind = s.quantity("panel.heat_loss_wind");
    let incidence_loss = s.quantity("panel.incidence_loss");
    Some(Panel {
        rated_power_w: rated_power?,
        open_circuit_voltage_v: open_v?,
        short_circuit_current_a: short_a?,
        max_power_voltage_v: max_v?,
        cells: cells? as u32,
        ideality: ideality?,
        low_light: low_light?,
        soiling: soiling?,
        blocking_drop_v: blocking_drop?,
        heat_loss_w_m2_k: heat_loss?,
        heat_loss_wind_w_s_m3_k: heat_loss_wind?,
        incidence_loss_b0: incidence_loss?,
    })
}

pub(super) fn mount(s: &mut DesignReader<'_>) -> Option<Mount<Uncertain>> {
    let kind = s.word("mount.kind", "").map(|word| match word {
        "sun-following" => MountKind::SunFollowing,
        "light-seeking" => MountKind::LightSeeking,
        _ => MountKind::Fixed,
    });
    let fixed = kind == Some(MountKind::Fixed);
    if fixed && !s.given("mount.azimuth") && !s.is_shelf_part() {
        let help = "south of the equator write azimuth = \"0 deg\" in [mount]";
        s.warn_in("mount", "no azimuth is given: the panel is taken to look south", help);
    }
    let tilt = s.quantity("mount.tilt");
    let azimuth = s.quantity("mount.azimuth");
    let rest_azimuth = s.quantity("mount.rest_azimuth");
    let rest_tilt = s.quantity("mount.rest_tilt");
    let tilt_max = s.quantity("mount.tilt_max");
    if let Some((rest, max)) = rest_tilt.zip(tilt_max)
        && !fixed
        && rest.highest() > max.lowest()
    {
        let title = "the mount cannot rest at a tilt it does not reach";
        let places = [("mount.rest_tilt", "steeper than ..."), ("mount.tilt_max", "... this")];
        s.contradiction(title, &places, "lower `rest_tilt` or raise `tilt_max`");
    }
    let range = forms::azimuth_range(s);
    if let Some(((centre, half), rest)) = range.zip(rest_azimuth)
        && !fixed
        && ((rest.nominal - centre + 540.0).rem_euclid(360.0) - 180.0).abs() > half + 1e-9
    {
        let title = "the mount cannot rest at an azimuth it does not reach";
        let places = [("mount.rest_azimuth", "outside of ..."), ("mount.azimuth_range", "... this")];
        s.contradiction(title, &places, "give a `rest_azimuth` within `azimuth_range`");
    }
    let speed = s.quantity("mount.speed");
    let step = s.quantity("mount.step");
    let motor_current = s.quantity("mount.motor_current");
    let lowest_voltage = s.quantity("mount.lowest_voltage");
    // A fixed mount draws nothing, whatever the default says.
    let standby_current = if fixed && !s.given("mount.standby_current") {
        s.quantity_or("mount.standby_current", Some(Uncertain::exact(0.0)))
    } else {
        s.quantity("mount.standby_current")
    };
    let head = s.word("mount.head", "").map(|word| match word {
        "tilted" => Head::Tilted,
        "back-to-back" => Head::BackToBack,
        _ => Head::Walls,
    });
    let contrast = s.quantity("mount.contrast");
    let shadow = s.quantity("mount.shadow");
    let cell_tilt = s.quantity("mount.cell_tilt");
    let dim = s.quantity("mount.dim");
    let pull = s.quantity("mount.pull");
    let stuck_from_day = s.count("mount.stuck_from_day").and_then(|n| u16::try_from(n).ok());
    let (centre, half) = range?;
    Some(Mount {
        kind: kind?,
        tilt_deg: tilt?,
        azimuth_deg: azimuth?,
        rest_azimuth_deg: rest_azimuth?,
        rest_tilt_deg: rest_tilt?,
        tilt_max_deg: tilt_max?,
        azimuth_centre_deg: centre,
        azimuth_half_range_deg: half,
        speed_deg_s: speed?,
        step_deg: step?,
        motor_current_a: motor_current?,
        lowest_voltage_v: lowest_voltage?,
        standby_current_a: if fixed { Uncertain::exact(0.0) } else { standby_current? },
        head: head?,
        contrast: contrast?,
        shadow_deg: shadow?,
        cell_tilt_deg: cell_tilt?,
        dim_w_m2: dim?,
        pull_deg: pull?,
        stuck_from_day,
    })
}

pub(super) fn water(s: &mut DesignReader<'_>) -> Option<Water<Uncertain>> {
    let area = s.quantity("water.area");
    let usable = s.quantity("water.usable");
    let rim = s.quantity_or("water.rim", area.map(|a| Uncertain::exact((a.nominal / PI).sqrt())));
    let wind_share = s.quantity("water.wind_share");
    let drop = s.quantity("water.drop");
    let evaporation_factor = s.quantity("water.evaporation_factor");
    let spray_evaporation = s.quantity("water.spray_evaporation");
    let top_up = forms::top_up(s);
    let wind_cut_off_m_s = s.exact("water.wind_cut_off");
    Some(Water {
        area_m2: area?,
        usable_l: usable?,
        rim_m: rim?,
        wind_share: wind_share?,
        drop_mm: drop?,
        evaporation_factor: evaporation_factor?,
        spray_evaporation: spray_evaporation?,
        top_up: top_up?,
        wind_cut_off_m_s,
    })
}
