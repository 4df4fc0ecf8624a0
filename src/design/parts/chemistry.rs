//! What a battery is made of, and what that implies where a design is silent: per cell and per Ah.

use crate::units::Uncertain;

/// What a battery is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chemistry {
    /// Lithium-ion (NMC, LCO).
    LithiumIon,
    /// Lithium iron phosphate.
    LithiumIronPhosphate,
    /// Lead-acid, a cell of 2 V.
    LeadAcid,
    /// Nickel-metal hydride.
    NickelMetalHydride,
}

/// Usual values of one chemistry, from memory of what is common practice; no single source, hence the wide ranges. Cycle lives
/// are lines through tables that are from memory too (`tests/computed/data/07i_cycle_life_dod.csv`), of nickel from its endurance test. Calendar lives
/// at 25 °C are from memory; of lead-acid from its class of 3 to 5 years at 20 °C, of lithium ion wide enough to reach older cells
/// (`tests/it/published/ageing.rs` holds them against what was measured or printed). A maker's figures in the design replace them.
pub(in crate::design) struct Usual {
    /// Nominal voltage of one cell, V.
    pub cell_v: f64,
    /// Another one that makers print, V.
    pub cell_v_also: Option<f64>,
    /// Resistance of one cell times its capacity, ohm Ah: lowest, highest.
    pub resistance_ohm_ah: (f64, f64),
    pub coulombic_efficiency: Uncertain,
    pub self_discharge_month: Uncertain,
    /// Voltage at which charging is held, V a cell; never more than ...
    pub charge_v: f64,
    /// ... this, V a cell.
    pub charge_v_max: f64,
    pub cut_off_v: f64,
    pub reconnect_v: f64,
    /// Open-circuit voltage when empty, V a cell: a cut-off below is no protection.
    pub empty_v: f64,
    /// Largest charging current, A for each Ah.
    pub charge_rate: f64,
    pub cycles_at_full_depth: f64,
    pub cycle_exponent: f64,
    pub calendar_life_y: (f64, f64),
    /// KiBaM c and k (1/h), lowest and highest; lead-acid only.
    pub kibam: Option<((f64, f64), (f64, f64))>,
}

impl Chemistry {
    pub(in crate::design) fn usual(self) -> Usual {
        match self {
            Chemistry::LithiumIon => Usual {
                cell_v: 3.7,
                cell_v_also: Some(3.6),
                resistance_ohm_ah: (0.12, 0.18),
                coulombic_efficiency: Uncertain::between(0.99, 0.999),
                self_discharge_month: Uncertain::between(0.01, 0.03),
                charge_v: 4.20,
                charge_v_max: 4.25,
                cut_off_v: 3.00,
                reconnect_v: 3.35,
                empty_v: 2.4,
                charge_rate: 1.0,
                cycles_at_full_depth: 302.0,
                cycle_exponent: 1.26,
                calendar_life_y: (4.0, 14.0),
                kibam: None,
            },
            Chemistry::LithiumIronPhosphate => Usual {
                cell_v: 3.2,
                cell_v_also: Some(3.3),
                resistance_ohm_ah: (0.07, 0.12),
                coulombic_efficiency: Uncertain::between(0.99, 0.999),
                self_discharge_month: Uncertain::between(0.01, 0.03),
                charge_v: 3.60,
                charge_v_max: 3.70,
                cut_off_v: 2.90,
                reconnect_v: 3.20,
                empty_v: 2.0,
                charge_rate: 1.0,
                cycles_at_full_depth: 692.0,
                cycle_exponent: 1.44,
                calendar_life_y: (6.0, 14.0),
                kibam: None,
            },
            Chemistry::LeadAcid => Usual {
                cell_v: 2.0,
                cell_v_also: None,
                resistance_ohm_ah: (0.025, 0.035),
                coulombic_efficiency: Uncertain::likely(0.85, 0.90, 0.95),
                self_discharge_month: Uncertain::between(0.03, 0.06),
                charge_v: 2.40,
                charge_v_max: 2.50,
                cut_off_v: 1.92,
                reconnect_v: 2.10,
                empty_v: 1.6,
                charge_rate: 0.25,
                cycles_at_full_depth: 200.0,
                cycle_exponent: 1.18,
                calendar_life_y: (2.1, 3.5),
                kibam: Some(((0.25, 0.4), (0.3, 1.5))),
            },
            Chemistry::NickelMetalHydride => Usual {
                cell_v: 1.2,
                cell_v_also: None,
                resistance_ohm_ah: (0.05, 0.08),
                coulombic_efficiency: Uncertain::likely(0.70, 0.80, 0.90),
                self_discharge_month: Uncertain::between(0.15, 0.30),
                charge_v: 1.45,
                charge_v_max: 1.60,
                cut_off_v: 1.00,
                reconnect_v: 1.25,
                empty_v: 0.8,
                charge_rate: 0.5,
                cycles_at_full_depth: 330.0,
                cycle_exponent: 1.2,
                calendar_life_y: (3.0, 5.0),
                kibam: None,
            },
        }
    }
}

/// States of charge of the rest curves, share.
pub const REST_CHARGES: [f64; 13] = [0.0, 0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 0.95, 1.0];

impl Chemistry {
    /// Rested open-circuit voltage of one cell at 25 °C, V, at [`REST_CHARGES`]: own composite of handbook curves, from
    /// memory (common practice, no source). `tests/it/trade_facts.rs` holds them to what the trade goes by.
    pub(crate) const fn rest_volts(self) -> [f64; 13] {
        match self {
            Chemistry::LithiumIon => {
                [3.0, 3.35, 3.45, 3.55, 3.6, 3.64, 3.69, 3.78, 3.88, 3.98, 4.08, 4.13, 4.19]
            }
            Chemistry::LithiumIronPhosphate => {
                [2.6, 3.05, 3.18, 3.23, 3.26, 3.28, 3.29, 3.3, 3.315, 3.33, 3.335, 3.34, 3.42]
            }
            Chemistry::LeadAcid => {
                [1.94, 1.945, 1.952, 1.975, 1.998, 2.018, 2.035, 2.057, 2.078, 2.097, 2.112, 2.117, 2.122]
            }
            Chemistry::NickelMetalHydride => {
                [1.05, 1.17, 1.2, 1.235, 1.25, 1.26, 1.27, 1.28, 1.29, 1.305, 1.33, 1.35, 1.4]
            }
        }
    }

    /// State of charge, 0..=1, at which a cell rests at a voltage.
    pub(crate) fn charge_at_rest(self, cell_v: f64) -> f64 {
        let volts = self.rest_volts();
        for k in 1..volts.len() {
            if cell_v < volts[k] {
                let part = ((cell_v - volts[k - 1]) / (volts[k] - volts[k - 1])).max(0.0);
                return REST_CHARGES[k - 1] + part * (REST_CHARGES[k] - REST_CHARGES[k - 1]);
            }
        }
        1.0
    }
}
