//! Kinds of quantity, and the units each may be written in: one row a kind in [`KINDS`].
//!
//! Reading and writing of values in these units is next door, in `parse` and `show`.

/// A kind of quantity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// W.
    Power,
    /// Wh.
    Energy,
    /// V.
    Voltage,
    /// A.
    Current,
    /// Ah.
    Charge,
    /// ohm.
    Resistance,
    /// m.
    Length,
    /// mm: lengths that are always small (drops).
    SmallLength,
    /// m².
    Area,
    /// mm²: cross-sections of wires.
    CrossSection,
    /// L.
    Volume,
    /// L/min.
    Flow,
    /// kg.
    Mass,
    /// m/s.
    Speed,
    /// °.
    Angle,
    /// °/s.
    AngularSpeed,
    /// min.
    Duration,
    /// h: spans of hours (thermal lag, rated life of a pump).
    Hours,
    /// years.
    Years,
    /// Share of 1; written in %.
    Share,
    /// Share of 1 a month.
    ShareAMonth,
    /// °C.
    Temperature,
    /// W/m².
    Irradiance,
    /// 1/K; written in %/K.
    TemperatureCoefficient,
    /// W/(m² K).
    HeatLoss,
    /// W s/(m³ K): heat loss for each m/s of wind.
    HeatLossByWind,
    /// 1/h.
    Rate,
    /// A plain number, without unit.
    Number,
}

/// One unit: its names (the first is the one shown), and how a value in it becomes one in the
/// base unit: `value * factor + offset`.
#[derive(Debug)]
pub(super) struct Unit {
    pub names: &'static [&'static str],
    pub factor: f64,
    pub offset: f64,
}

const fn unit(names: &'static [&'static str], factor: f64) -> Unit {
    Unit { names, factor, offset: 0.0 }
}

/// Metres in an inch (exact, by definition of 1959).
const INCH_M: f64 = 0.0254;
/// Litres in a US gallon (231 cubic inches, exact).
const GALLON_L: f64 = 3.785_411_784;
/// Metres per second in a mile an hour (1609.344 m / 3600 s, exact).
const MPH_M_S: f64 = 0.447_04;

/// What there is to say about a kind of quantity.
struct Kind {
    dimension: Dimension,
    /// What it is called, with its article.
    name: &'static str,
    /// A value as it may be written.
    example: &'static str,
    /// Units in which it may be written, the base unit (or % for shares) first.
    units: &'static [Unit],
}

/// One row for each kind, in the order of the kinds.
static KINDS: [Kind; Dimension::COUNT] = [
    Kind {
        dimension: Dimension::Power,
        name: "a power",
        example: "10 W",
        units: &[unit(&["W", "Wp", "watt", "watts"], 1.0), unit(&["mW"], 1e-3), unit(&["kW"], 1e3)],
    },
    Kind {
        dimension: Dimension::Energy,
        name: "an energy",
        example: "20 Wh",
        units: &[unit(&["Wh"], 1.0), unit(&["mWh"], 1e-3), unit(&["kWh"], 1e3)],
    },
    Kind {
        dimension: Dimension::Voltage,
        name: "a voltage",
        example: "6.4 V",
        units: &[unit(&["V", "volt", "volts"], 1.0), unit(&["mV"], 1e-3)],
    },
    Kind {
        dimension: Dimension::Current,
        name: "a current",
        example: "290 mA",
        units: &[unit(&["A", "amp", "amps"], 1.0), unit(&["mA"], 1e-3), unit(&["µA", "uA", "μA"], 1e-6)],
    },
    Kind {
        dimension: Dimension::Charge,
        name: "a charge",
        example: "3 Ah",
        units: &[unit(&["Ah"], 1.0), unit(&["mAh"], 1e-3)],
    },
    Kind {
        dimension: Dimension::Resistance,
        name: "a resistance",
        example: "0.15 ohm",
        units: &[unit(&["ohm", "ohms", "Ohm", "Ω", "Ω"], 1.0), unit(&["mohm", "mOhm", "mΩ", "mΩ"], 1e-3)],
    },
    Kind {
        dimension: Dimension::Length,
        name: "a length",
        example: "250 mm",
        units: &[
            unit(&["m"], 1.0),
            unit(&["mm"], 1e-3),
            unit(&["cm"], 1e-2),
            unit(&["in", "inch", "inches"], INCH_M),
            unit(&["ft", "foot", "feet"], 12.0 * INCH_M),
        ],
    },
    Kind {
        dimension: Dimension::SmallLength,
        name: "a length",
        example: "2 mm",
        units: &[
            unit(&["mm"], 1.0),
            unit(&["cm"], 10.0),
            unit(&["m"], 1e3),
            unit(&["in", "inch"], 1e3 * INCH_M),
        ],
    },
    Kind {
        dimension: Dimension::Area,
        name: "an area",
        example: "1.2 m2",
        units: &[
            unit(&["m²", "m2", "m^2"], 1.0),
            unit(&["cm²", "cm2", "cm^2"], 1e-4),
            unit(&["ft²", "ft2", "ft^2", "sq ft"], 144.0 * INCH_M * INCH_M),
            unit(&["in²", "in2", "in^2", "sq in"], INCH_M * INCH_M),
        ],
    },
    Kind {
        dimension: Dimension::CrossSection,
        name: "a cross-section",
        example: "0.5 mm2",
        units: &[unit(&["mm²", "mm2", "mm^2"], 1.0)],
    },
    Kind {
        dimension: Dimension::Volume,
        name: "a volume",
        example: "40 L",
        units: &[
            unit(&["L", "l", "litre", "litres", "liter", "liters"], 1.0),
            unit(&["mL", "ml"], 1e-3),
            unit(&["m³", "m3", "m^3"], 1e3),
            unit(&["gal", "gallon", "gallons"], GALLON_L),
        ],
    },
    Kind {
        dimension: Dimension::Flow,
        name: "a flow",
        example: "4 L/min",
        units: &[
            unit(&["L/min", "l/min"], 1.0),
            unit(&["L/h", "l/h"], 1.0 / 60.0),
            unit(&["L/s", "l/s"], 60.0),
            unit(&["gal/min", "gpm"], GALLON_L),
            unit(&["gal/h", "gph"], GALLON_L / 60.0),
        ],
    },
    Kind {
        dimension: Dimension::Mass,
        name: "a mass",
        example: "3 kg",
        units: &[unit(&["kg"], 1.0), unit(&["g"], 1e-3), unit(&["lb", "lbs"], 0.453_592_37)],
    },
    Kind {
        dimension: Dimension::Speed,
        name: "a speed",
        example: "6 m/s",
        units: &[
            unit(&["m/s"], 1.0),
            unit(&["km/h"], 1.0 / 3.6),
            unit(&["mph"], MPH_M_S),
            unit(&["ft/s"], 12.0 * INCH_M),
        ],
    },
    Kind {
        dimension: Dimension::Angle,
        name: "an angle",
        example: "35 deg",
        units: &[unit(&["deg", "°", "degree", "degrees"], 1.0)],
    },
    Kind {
        dimension: Dimension::AngularSpeed,
        name: "an angular speed",
        example: "2 deg/s",
        units: &[unit(&["deg/s", "°/s"], 1.0), unit(&["deg/min", "°/min"], 1.0 / 60.0), unit(&["rpm"], 6.0)],
    },
    Kind {
        dimension: Dimension::Duration,
        name: "a duration",
        example: "30 min",
        units: &[
            unit(&["min", "minute", "minutes"], 1.0),
            unit(&["h", "hour", "hours"], 60.0),
            unit(&["s", "second", "seconds"], 1.0 / 60.0),
            unit(&["d", "day", "days"], 1440.0),
        ],
    },
    Kind {
        dimension: Dimension::Hours,
        name: "a duration",
        example: "4 h",
        units: &[
            unit(&["h", "hour", "hours"], 1.0),
            unit(&["min", "minute", "minutes"], 1.0 / 60.0),
            unit(&["d", "day", "days"], 24.0),
        ],
    },
    Kind {
        dimension: Dimension::Years,
        name: "a duration",
        example: "8 years",
        units: &[
            unit(&["years", "year", "y", "a"], 1.0),
            unit(&["months", "month"], 1.0 / 12.0),
            unit(&["d", "day", "days"], 1.0 / 365.25),
        ],
    },
    Kind {
        dimension: Dimension::Share,
        name: "a share",
        example: "50 %",
        units: &[unit(&["%", "percent"], 1e-2)],
    },
    Kind {
        dimension: Dimension::ShareAMonth,
        name: "a share a month",
        example: "3 %/month",
        units: &[unit(&["%/month", "% a month", "%"], 1e-2)],
    },
    Kind {
        dimension: Dimension::Temperature,
        name: "a temperature",
        example: "12 °C",
        units: &[
            unit(&["°C", "degC", "deg C", "C"], 1.0),
            // °C = (°F - 32) 5/9
            Unit { names: &["°F", "degF", "deg F", "F"], factor: 5.0 / 9.0, offset: -160.0 / 9.0 },
            Unit { names: &["K"], factor: 1.0, offset: -273.15 },
        ],
    },
    Kind {
        dimension: Dimension::Irradiance,
        name: "an irradiance",
        example: "10 W/m2",
        units: &[unit(&["W/m²", "W/m2", "W/m^2"], 1.0), unit(&["kW/m²", "kW/m2", "kW/m^2"], 1e3)],
    },
    Kind {
        dimension: Dimension::TemperatureCoefficient,
        name: "a temperature coefficient",
        example: "-0.35 %/K",
        units: &[unit(&["%/K", "%/°C", "%/C"], 1e-2), unit(&["1/K", "/K"], 1.0)],
    },
    Kind {
        dimension: Dimension::HeatLoss,
        name: "a heat loss",
        example: "25 W/(m2 K)",
        units: &[unit(&["W/(m² K)", "W/(m2 K)", "W/m2K", "W/m²K", "W/m2/K", "W/m²/K", "W/(m2K)"], 1.0)],
    },
    Kind {
        dimension: Dimension::HeatLossByWind,
        name: "a heat loss by wind",
        example: "6.84 W s/(m3 K)",
        units: &[unit(&["W s/(m³ K)", "W s/(m3 K)", "Ws/m3K", "Ws/m³K", "Ws/(m3 K)"], 1.0)],
    },
    Kind {
        dimension: Dimension::Rate,
        name: "a rate",
        example: "0.5 /h",
        units: &[unit(&["/h", "1/h", "per hour"], 1.0), unit(&["/d", "1/d", "per day"], 1.0 / 24.0)],
    },
    Kind { dimension: Dimension::Number, name: "a plain number", example: "1.1", units: &[unit(&[""], 1.0)] },
];

impl Dimension {
    const COUNT: usize = Dimension::Number as usize + 1;

    /// All kinds.
    pub const ALL: [Dimension; Dimension::COUNT] = {
        let mut all = [Dimension::Number; Dimension::COUNT];
        let mut k = 0;
        while k < Dimension::COUNT {
            all[k] = KINDS[k].dimension;
            assert!(all[k] as usize == k, "the rows must stand in the order of the kinds");
            k += 1;
        }
        all
    };

    fn kind(self) -> &'static Kind {
        &KINDS[self as usize]
    }

    /// What it is called, with its article.
    pub(crate) fn name(self) -> &'static str {
        self.kind().name
    }

    /// A value as it may be written.
    pub(crate) fn example(self) -> &'static str {
        self.kind().example
    }

    /// Name of the unit in which it is usually shown: the base unit, or % for shares.
    pub fn base_unit(self) -> &'static str {
        self.units()[0].names[0]
    }

    /// Name of the unit of a bare number inside the program: the base unit, and nothing for shares of 1.
    pub(crate) fn base_unit_of_numbers(self) -> &'static str {
        match self {
            Dimension::Share | Dimension::ShareAMonth => "1",
            _ => self.base_unit(),
        }
    }

    /// Units in which it may be written, most usual first.
    pub(super) fn units(self) -> &'static [Unit] {
        self.kind().units
    }

    /// Names of all its units.
    pub(crate) fn unit_names(self) -> impl Iterator<Item = &'static str> {
        self.units().iter().flat_map(|u| u.names).copied()
    }

    /// The unit of this kind that goes by `name`.
    pub(super) fn unit_named(self, name: &str) -> Option<&'static Unit> {
        self.units().iter().find(|u| u.names.contains(&name))
    }

    /// The first kind whose unit goes by `name`.
    pub(super) fn of_unit(name: &str) -> Option<Dimension> {
        Dimension::ALL.into_iter().find(|d| *d != Dimension::Number && d.unit_named(name).is_some())
    }
}
