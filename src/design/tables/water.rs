//! `[water]`.

use std::f64::consts::PI;

use crate::design::parts::{TopUp, Water};
use crate::design::reader::DesignReader;
use crate::units::Uncertain;

pub(in crate::design) fn water(r: &mut DesignReader<'_>) -> Option<Water<Uncertain>> {
    let area = r.quantity("water.area");
    let usable = r.quantity("water.usable");
    let rim = r.quantity_or("water.rim", area.map(|a| Uncertain::exact((a.nominal / PI).sqrt())));
    let wind_share = r.quantity("water.wind_share");
    let wind_turbulence = r.quantity("water.wind_turbulence");
    let drop = r.quantity("water.drop");
    let evaporation_factor = r.quantity("water.evaporation_factor");
    let spray_evaporation = r.quantity("water.spray_evaporation");
    let top_up = top_up(r);
    let wind_cut_off_m_s = r.exact("water.wind_cut_off");
    Some(Water {
        area_m2: area?,
        usable_l: usable?,
        rim_m: rim?,
        wind_share: wind_share?,
        wind_turbulence: wind_turbulence?,
        drop_mm: drop?,
        evaporation_factor: evaporation_factor?,
        spray_evaporation: spray_evaporation?,
        top_up: top_up?,
        wind_cut_off_m_s,
    })
}

/// `water.top_up`.
fn top_up(r: &mut DesignReader<'_>) -> Option<TopUp> {
    let path = "water.top_up";
    let Some(value) = r.form(path) else { return r.default_text(path).and_then(top_up_of) };
    let top_up = value.get_ref().as_str().and_then(top_up_of);
    if top_up.is_none() {
        r.wrong_form(path, value);
    }
    top_up
}

fn top_up_of(text: &str) -> Option<TopUp> {
    let rest = match text.trim() {
        "always" => return Some(TopUp::Always),
        "rain" => return Some(TopUp::Rain),
        other => other.strip_prefix("every ")?,
    };
    let (n, unit) = rest.trim().split_once(' ').unwrap_or(("1", rest.trim()));
    let n: u16 = n.parse().ok().filter(|n| (1..=366).contains(n))?;
    match unit.trim() {
        "d" | "day" | "days" => Some(TopUp::Every(n)),
        "week" | "weeks" => n.checked_mul(7).map(TopUp::Every),
        _ => None,
    }
}
