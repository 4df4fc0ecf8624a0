//! `[mount]`.

use super::forms::items;
use crate::design::parts::{Mount, MountKind};
use crate::design::reader::DesignReader;
use crate::units::{Dimension, Uncertain};

pub(in crate::design) fn mount(r: &mut DesignReader<'_>) -> Option<Mount<Uncertain>> {
    let kind = r.word("mount.kind", None);
    let fixed = kind == Some(MountKind::Fixed);
    if fixed && !r.given("mount.azimuth") && !r.is_shelf_part() {
        let help = "south of the equator, write azimuth = \"0 deg\" in [mount]";
        r.warn_in("mount", "no azimuth is given: the panel is assumed to face south", help);
    }
    let tilt = r.quantity("mount.tilt");
    let azimuth = r.quantity("mount.azimuth");
    let rest_azimuth = r.quantity("mount.rest_azimuth");
    let rest_tilt = r.quantity("mount.rest_tilt");
    let tilt_max = r.quantity("mount.tilt_max");
    let range = azimuth_range(r);
    if !fixed {
        rest_is_reached(r, rest_tilt.zip(tilt_max), rest_azimuth.zip(range));
    }
    let speed = r.quantity("mount.speed");
    let step = r.quantity("mount.step");
    let motor_current = r.quantity("mount.motor_current");
    let lowest_voltage = r.quantity("mount.lowest_voltage");
    let standby_current = r.quantity("mount.standby_current");
    let head = r.word("mount.head", None);
    let contrast = r.quantity("mount.contrast");
    let shadow = r.quantity("mount.shadow");
    let overcast_glow = r.quantity("mount.overcast_glow");
    let mismatch_tilt = r.quantity("mount.mismatch_tilt");
    let mismatch_turn = r.quantity("mount.mismatch_turn");
    let cover_scatter = r.quantity("mount.cover_scatter");
    let cell_tilt = r.quantity("mount.cell_tilt");
    let delay = r.quantity("mount.delay");
    let coast = r.quantity("mount.coast");
    let noise = r.quantity("mount.noise");
    let dim = r.quantity("mount.dim");
    let pull = r.quantity("mount.pull");
    let rated_hours = r.exact("mount.rated_hours");
    let rated_moves = r.exact("mount.rated_moves");
    if rated_hours.is_some() && rated_moves.is_some() {
        let places = [("mount.rated_hours", "by hours ..."), ("mount.rated_moves", "... or by moves")];
        r.contradiction("the mount is rated twice", &places, "leave one of them out");
    }
    let stuck_from_day = r.count("mount.stuck_from_day").and_then(|n| u16::try_from(n).ok());
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
        // A fixed mount has no board, whatever the key says.
        standby_current_a: if fixed { Uncertain::exact(0.0) } else { standby_current? },
        head: head?,
        contrast: contrast?,
        shadow_deg: shadow?,
        overcast_glow: overcast_glow?,
        mismatch_tilt: mismatch_tilt?,
        mismatch_turn: mismatch_turn?,
        cover_scatter: cover_scatter?,
        cell_tilt_deg: cell_tilt?,
        delay_min: delay?,
        coast_deg: coast?,
        noise: noise?,
        dim_w_m2: dim?,
        pull_deg: pull?,
        rated_hours,
        rated_moves,
        stuck_from_day,
    })
}

/// Checks that a moving mount reaches the place where it waits for morning. Tilt: that of rest, steepest. Azimuth: that
/// of rest, (centre, half-width) of what it reaches.
fn rest_is_reached(
    r: &mut DesignReader<'_>,
    tilt: Option<(Uncertain, Uncertain)>,
    azimuth: Option<(Uncertain, (f64, f64))>,
) {
    if let Some((rest, max)) = tilt
        && rest.highest() > max.lowest()
    {
        let title = "the mount cannot reach the tilt at which it rests";
        let places = [("mount.rest_tilt", "steeper than ..."), ("mount.tilt_max", "... this")];
        r.contradiction(title, &places, "lower `rest_tilt` or raise `tilt_max`");
    }
    if let Some((rest, (centre, half))) = azimuth
        && ((rest.nominal - centre + 540.0).rem_euclid(360.0) - 180.0).abs() > half + 1e-9
    {
        let title = "the mount cannot reach the azimuth at which it rests";
        let places = [("mount.rest_azimuth", "outside ..."), ("mount.azimuth_range", "... this")];
        r.contradiction(title, &places, "give a `rest_azimuth` within `azimuth_range`");
    }
}

/// `mount.azimuth_range`: centre and half-width, °; left out: all round.
fn azimuth_range(r: &mut DesignReader<'_>) -> Option<(f64, f64)> {
    let path = "mount.azimuth_range";
    let Some(value) = r.form(path) else { return Some((180.0, 180.0)) };
    let pair = items(r, path, value, 2, "[\"60 deg\", \"300 deg\"]")?;
    let from = r.exact_at("azimuth", pair[0], (Dimension::Angle, 0.0, 360.0));
    let to = r.exact_at("azimuth", pair[1], (Dimension::Angle, 0.0, 360.0));
    let (from, to) = (from?, to?);
    let width = if from < to { to - from } else { to - from + 360.0 };
    if from == to {
        let help = "leave the key out if the mount turns all the way round";
        r.error(value.span(), "the mount reaches only one azimuth", "", help);
        return None;
    }
    Some(((from + 0.5 * width).rem_euclid(360.0), (0.5 * width).min(180.0)))
}
