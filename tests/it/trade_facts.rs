//! scratch
use crate::common::*;
use stilldays::plant::Cause;

#[test]
fn scratch() {
    for (name, d) in [("battery", with_battery()), ("direct", direct())] {
        for (dn, day) in [("clear", Day::Clear), ("overcast", Day::Overcast(0.25)), ("patchy", Day::Patchy)] {
            let mut r = Run::new(&d);
            r.days(2, day);
            let t = r.watched(day);
            let o = &r.out;
            println!(
                "== {name} {dn}: jet {} dusk {} pump_h {} moves {} travel {} plane {} ghi {} soc {}..{} sunset {} spilled {} evap {} drift {} water {}",
                o.jet_min.0[0],
                o.dusk_run_min.0[0],
                o.pump_h.0[0],
                o.moves.0[0],
                o.travel_deg.0[0],
                o.plane_wh_m2.0[0],
                o.ghi_wh_m2.0[0],
                o.soc_low.0[0],
                o.soc_high.0[0],
                o.soc_at_sunset.0[0],
                o.spilled_ah.0[0],
                o.evaporated_l.0[0],
                o.drifted_l.0[0],
                o.water_l.0[0]
            );
            println!(
                "flows {:?} residual {:e} charge {:e} water {:e}",
                o.flow_wh.map(|r| r.0[0]),
                o.residual_wh.0[0],
                o.charge_residual_ah.0[0],
                o.water_residual_l.0[0]
            );
            for (k, c) in o.cause_min.iter().enumerate() {
                if c.0[0] > 0.0 {
                    println!("   {} {}", Cause::ALL[k].key(), c.0[0]);
                }
            }
            for m in t.minutes.iter().step_by(30) {
                println!(
                    "{:4} el {:5.1} az {:5.1} dni {:4.0} dhi {:4.0} aim {:4.1}/{:5.1} off {:5.1} poa {:4.0} pv {:5.2}V {:.3}A bat {:.3} soc {:.3} pump {:.2} duty {:.2} jet {:.3} {} {:?}",
                    m.minute,
                    m.sun_elevation_deg.unwrap_or(-1.0),
                    m.sun_azimuth_deg.unwrap_or(-1.0),
                    m.dni_w_m2,
                    m.dhi_w_m2,
                    m.aim_tilt_deg,
                    m.aim_azimuth_deg,
                    m.off_aim_deg.unwrap_or(-1.0),
                    m.plane_w_m2,
                    m.panel_v,
                    m.panel_a,
                    m.battery_v.unwrap_or(0.0),
                    m.soc.unwrap_or(0.0),
                    m.pump_v,
                    m.duty,
                    m.jet_m,
                    m.counted,
                    m.cause
                );
            }
        }
    }
}
