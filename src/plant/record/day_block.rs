//! The outcome of one day of sixteen trials: minutes by cause, energy account, water, wear.

use super::cause::Cause;
use crate::lanes::RowF64;

/// Where the day's energy came from and went, Wh. `Panel` equals the sum of
/// all others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Flow {
    /// Given by the panel's cells at its terminals.
    Panel,
    /// Taken by the pump.
    Pump,
    /// Taken by the mount's motors.
    Motors,
    /// Taken by electronics and sensor board.
    Standby,
    /// Lost in the blocking diode.
    Diode,
    /// Lost in the charger.
    Charger,
    /// Lost in the battery: resistance, coulombic loss, self-discharge.
    Battery,
    /// Put into the store (negative: taken out), by its state of charge and open-circuit voltage.
    Stored,
}

impl Flow {
    /// How many.
    pub(crate) const COUNT: usize = 8;
}

/// The outcome of one day of sixteen trials.
#[derive(Clone, Debug)]
pub struct DayBlock {
    /// Minutes of jet that count, within the wanted hours.
    pub jet_min: RowF64,
    /// Minutes the jet goes on after sunset before it first stops (a stop of up to 5 min is
    /// bridged); 0 if it does not run at sunset. Meaningless where the day has no sunset.
    pub dusk_run_min: RowF64,
    /// 1 if the dusk run still went on when the hours ended in which the pump is let run, else 0.
    pub dusk_cut: RowF64,
    /// Wanted minutes without a jet that counts, by [`Cause`]; with `jet_min` they sum to the
    /// day's wanted minutes.
    pub cause_min: [RowF64; Cause::COUNT],
    /// Jet minutes that count by hour slot of the day.
    pub jet_by_hour_min: [RowF64; 24],
    /// State of charge (share of the capacity left) every [`DayBlock::SOC_EVERY_MIN`] minutes from the
    /// start of the day, 0 for builds without a battery.
    pub soc: Vec<RowF64>,
    /// Lowest state of charge of the day.
    pub soc_low: RowF64,
    /// Highest state of charge of the day.
    pub soc_high: RowF64,
    /// State of charge at sunset (at the end of the day where there is none).
    pub soc_at_sunset: RowF64,
    /// Energy account, Wh, by [`Flow`].
    pub flow_wh: [RowF64; Flow::COUNT],
    /// Residual of the energy account, Wh.
    pub residual_wh: RowF64,
    /// Residual of the battery's charge account, Ah.
    pub charge_residual_ah: RowF64,
    /// Residual of the water account, L.
    pub water_residual_l: RowF64,
    /// What the panel gave beyond its label times the light on its cells, Wh: nothing.
    pub over_label_wh: RowF64,
    /// Water that left the basin, L: evaporation.
    pub evaporated_l: RowF64,
    /// Water that left the basin, L: drops over the rim.
    pub drifted_l: RowF64,
    /// Rain on the basin, L: what runs over, too.
    pub rain_l: RowF64,
    /// Water in the basin above the low-water mark at the end of the day, L.
    pub water_l: RowF64,
    /// Hours the pump ran (wanted or not, counted or not; by duty).
    pub pump_h: RowF64,
    /// Moves of the mount.
    pub moves: RowF64,
    /// Degrees the mount travelled.
    pub travel_deg: RowF64,
    /// Minutes in which a light-seeking mount hunts: its motors turn to and fro.
    pub hunting_min: RowF64,
    /// Hours for which the motors of the mount run, hunting or not.
    pub motors_h: RowF64,
    /// Irradiation on the panel, Wh/m².
    pub plane_wh_m2: RowF64,
    /// Part of it that dirt kept from the cells which rain or a hand takes away, Wh/m².
    pub dirt_wh_m2: RowF64,
    /// Part of it that snow kept from the cells, Wh/m².
    pub snow_wh_m2: RowF64,
    /// 1 if leaves or droppings lay on the panel, else 0.
    pub littered: RowF64,
    /// Irradiation on the horizontal, Wh/m².
    pub ghi_wh_m2: RowF64,
    /// Charge that the panel could have given and the charger passed on, refused because the battery was full or held at
    /// its charge voltage, Ah. It holds neither what the charger's largest current excludes nor what frost refuses.
    pub spilled_ah: RowF64,
    /// Hours at 25 °C that age the battery on the shelf as much as this day.
    pub shelf_h: RowF64,
    /// Hours of daylight in which lithium was too cold to charge.
    pub too_cold_h: RowF64,
    /// Hours in which ice reached the pump's intake.
    pub intake_iced_h: RowF64,
}

impl DayBlock {
    /// Minutes between two samples of the state of charge.
    pub(crate) const SOC_EVERY_MIN: usize = 10;
    /// Samples of the state of charge in a day.
    pub(crate) const SOC_SAMPLES: usize = 1440 / Self::SOC_EVERY_MIN;

    /// An empty day, which [`step_day`](crate::plant::step_day) may fill again and again.
    pub fn new() -> DayBlock {
        let zero = RowF64::splat(0.0);
        DayBlock {
            jet_min: zero,
            dusk_run_min: zero,
            dusk_cut: zero,
            cause_min: [zero; Cause::COUNT],
            jet_by_hour_min: [zero; 24],
            soc: vec![zero; Self::SOC_SAMPLES],
            soc_low: zero,
            soc_high: zero,
            soc_at_sunset: zero,
            flow_wh: [zero; Flow::COUNT],
            residual_wh: zero,
            charge_residual_ah: zero,
            water_residual_l: zero,
            over_label_wh: zero,
            evaporated_l: zero,
            drifted_l: zero,
            rain_l: zero,
            water_l: zero,
            pump_h: zero,
            moves: zero,
            travel_deg: zero,
            hunting_min: zero,
            motors_h: zero,
            plane_wh_m2: zero,
            dirt_wh_m2: zero,
            snow_wh_m2: zero,
            littered: zero,
            ghi_wh_m2: zero,
            spilled_ah: zero,
            shelf_h: zero,
            too_cold_h: zero,
            intake_iced_h: zero,
        }
    }

    /// Sets to 0 what a day adds up in place and, without a battery, what only a battery writes: the day before may have been
    /// another build's. Everything else is overwritten.
    pub(in crate::plant) fn clear(&mut self, has_battery: bool) {
        let zero = RowF64::splat(0.0);
        self.cause_min = [zero; Cause::COUNT];
        self.flow_wh = [zero; Flow::COUNT];
        let summed = [
            &mut self.jet_min,
            &mut self.pump_h,
            &mut self.moves,
            &mut self.travel_deg,
            &mut self.hunting_min,
            &mut self.motors_h,
            &mut self.plane_wh_m2,
            &mut self.dirt_wh_m2,
            &mut self.snow_wh_m2,
            &mut self.littered,
            &mut self.spilled_ah,
            &mut self.too_cold_h,
            &mut self.intake_iced_h,
            &mut self.over_label_wh,
            &mut self.evaporated_l,
            &mut self.drifted_l,
        ];
        for row in summed {
            *row = zero;
        }
        if !has_battery {
            self.soc.fill(zero);
            let rows = [
                &mut self.soc_low,
                &mut self.soc_high,
                &mut self.soc_at_sunset,
                &mut self.charge_residual_ah,
                &mut self.shelf_h,
            ];
            for row in rows {
                *row = zero;
            }
        }
    }
}

impl Default for DayBlock {
    fn default() -> Self {
        DayBlock::new()
    }
}
