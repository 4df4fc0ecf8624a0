//! `[water]`.

use std::f64::consts::PI;

use super::wish::season_of;
use crate::design::parts::{Ice, TopUp, Water};
use crate::design::reader::DesignReader;
use crate::units::Uncertain;

const DEPTH: &str = "water.depth";
const TAKEN_IN: &str = "water.taken_in";

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
    let ice = match r.given(DEPTH) {
        true => Some(ice(r, area?, usable?)?),
        false => None,
    };
    let taken_in = match r.given(TAKEN_IN) {
        true => Some(taken_in(r)?),
        false => None,
    };
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
        ice,
        taken_in,
    })
}

/// What decides when the water freezes, for a basin of this surface (m²) and usable water (L).
fn ice(r: &mut DesignReader<'_>, area_m2: Uncertain, usable_l: Uncertain) -> Option<Ice<Uncertain>> {
    let depth_m = r.quantity(DEPTH)?;
    let intake_m = r.quantity_or("water.intake", Some(depth_m.times(0.5)))?;
    let ground_w_m2_k = r.quantity("water.ground")?;
    let holds_l = 1000.0 * area_m2.highest() * depth_m.highest();
    if usable_l.lowest() > holds_l {
        let places =
            [(DEPTH, "too shallow for ..."), ("water.usable", "... this"), ("water.area", "on this surface")];
        let title = "the basin cannot hold its usable water";
        r.contradiction(title, &places, &format!("at this depth it holds {holds_l:.0} L at most"));
        return None;
    }
    if intake_m.lowest() > depth_m.highest() {
        let places = [("water.intake", "below ..."), (DEPTH, "... this")];
        r.contradiction("the intake lies below the bottom of the basin", &places, "let it lie higher");
        return None;
    }
    Some(Ice { depth_m, intake_m, ground_w_m2_k })
}

/// First and last day on which the pump is taken in.
fn taken_in(r: &mut DesignReader<'_>) -> Option<(u16, u16)> {
    let value = r.form(TAKEN_IN)?;
    let Some(text) = value.get_ref().as_str() else {
        r.wrong_form(TAKEN_IN, value);
        return None;
    };
    let days = season_of(text);
    if days.is_none() {
        let help = "write first and last day as month-day, like \"11-01 to 03-31\"; there is no 02-29";
        r.error(value.span(), format!("\"{text}\" is not a span of days"), "not understood", help);
    }
    days
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
