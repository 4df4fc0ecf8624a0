//! Kinds of quantity, and the units each may be written in.

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

impl Dimension {
    /// All kinds.
    pub const ALL: [Dimension; 27] = [
        Dimension::Power,
        Dimension::Energy,
        Dimension::Voltage,
        Dimension::Current,
        Dimension::Charge,
        Dimension::Resistance,
        Dimension::Length,
        Dimension::SmallLength,
        Dimension::Area,
        Dimension::Volume,
        Dimension::Flow,
        Dimension::Mass,
        Dimension::Speed,
        Dimension::Angle,
        Dimension::AngularSpeed,
        Dimension::Duration,
        Dimension::Hours,
        Dimension::Years,
        Dimension::Share,
        Dimension::ShareAMonth,
        Dimension::Temperature,
        Dimension::Irradiance,
        Dimension::TemperatureCoefficient,
        Dimension::HeatLoss,
        Dimension::HeatLossByWind,
        Dimension::Rate,
        Dimension::Number,
    ];

    /// What it is called, with its article.
    pub fn name(self) -> &'static str {
        match self {
            Dimension::Power => "a power",
            Dimension::Energy => "an energy",
            Dimension::Voltage => "a voltage",
            Dimension::Current => "a current",
            Dimension::Charge => "a charge",
            Dimension::Resistance => "a resistance",
            Dimension::Length | Dimension::SmallLength => "a length",
            Dimension::Area => "an area",
            Dimension::Volume => "a volume",
            Dimension::Flow => "a flow",
            Dimension::Mass => "a mass",
            Dimension::Speed => "a speed",
            Dimension::Angle => "an angle",
            Dimension::AngularSpeed => "an angular speed",
            Dimension::Duration | Dimension::Hours | Dimension::Years => "a duration",
            Dimension::Share => "a share",
            Dimension::ShareAMonth => "a share a month",
            Dimension::Temperature => "a temperature",
            Dimension::Irradiance => "an irradiance",
            Dimension::TemperatureCoefficient => "a temperature coefficient",
            Dimension::HeatLoss => "a heat loss",
            Dimension::HeatLossByWind => "a heat loss by wind",
            Dimension::Rate => "a rate",
            Dimension::Number => "a plain number",
        }
    }

    /// A value that would do, as an example.
    pub fn example(self) -> &'static str {
        match self {
            Dimension::Power => "10 W",
            Dimension::Energy => "20 Wh",
            Dimension::Voltage => "6.4 V",
            Dimension::Current => "290 mA",
            Dimension::Charge => "3 Ah",
            Dimension::Resistance => "0.15 ohm",
            Dimension::Length => "250 mm",
            Dimension::SmallLength => "2 mm",
            Dimension::Area => "1.2 m2",
            Dimension::Volume => "40 L",
            Dimension::Flow => "4 L/min",
            Dimension::Mass => "3 kg",
            Dimension::Speed => "6 m/s",
            Dimension::Angle => "35 deg",
            Dimension::AngularSpeed => "2 deg/s",
            Dimension::Duration => "30 min",
            Dimension::Hours => "4 h",
            Dimension::Years => "8 years",
            Dimension::Share => "50 %",
            Dimension::ShareAMonth => "3 %/month",
            Dimension::Temperature => "12 °C",
            Dimension::Irradiance => "10 W/m2",
            Dimension::TemperatureCoefficient => "-0.35 %/K",
            Dimension::HeatLoss => "25 W/(m2 K)",
            Dimension::HeatLossByWind => "6.84 W s/(m3 K)",
            Dimension::Rate => "0.5 /h",
            Dimension::Number => "1.1",
        }
    }

    /// Name of the unit in which it is usually shown: the base unit, or % for shares.
    pub fn base_unit(self) -> &'static str {
        self.units()[0].names[0]
    }

    /// Units in which it may be written, most usual first.
    pub(super) fn units(self) -> &'static [Unit] {
        match self {
            Dimension::Power => {
                const { &[unit(&["W", "Wp", "watt", "watts"], 1.0), unit(&["mW"], 1e-3), unit(&["kW"], 1e3)] }
            }
            Dimension::Energy => const { &[unit(&["Wh"], 1.0), unit(&["mWh"], 1e-3), unit(&["kWh"], 1e3)] },
            Dimension::Voltage => const { &[unit(&["V", "volt", "volts"], 1.0), unit(&["mV"], 1e-3)] },
            Dimension::Current => {
                const {
                    &[unit(&["A", "amp", "amps"], 1.0), unit(&["mA"], 1e-3), unit(&["µA", "uA", "μA"], 1e-6)]
                }
            }
            Dimension::Charge => const { &[unit(&["Ah"], 1.0), unit(&["mAh"], 1e-3)] },
            Dimension::Resistance => {
                const {
                    &[unit(&["ohm", "ohms", "Ohm", "Ω", "Ω"], 1.0), unit(&["mohm", "mOhm", "mΩ", "mΩ"], 1e-3)]
                }
            }
            Dimension::Length => {
                const {
                    &[
                        unit(&["m"], 1.0),
                        unit(&["mm"], 1e-3),
                        unit(&["cm"], 1e-2),
                        unit(&["in", "inch", "inches"], INCH_M),
                        unit(&["ft", "foot", "feet"], 12.0 * INCH_M),
                    ]
                }
            }
            Dimension::SmallLength => {
                const {
                    &[
                        unit(&["mm"], 1.0),
                        unit(&["cm"], 10.0),
                        unit(&["m"], 1e3),
                        unit(&["in", "inch"], 1e3 * INCH_M),
                    ]
                }
            }
            Dimension::Area => {
                const {
                    &[
                        unit(&["m²", "m2", "m^2"], 1.0),
                        unit(&["cm²", "cm2", "cm^2"], 1e-4),
                        unit(&["ft²", "ft2", "ft^2", "sq ft"], 144.0 * INCH_M * INCH_M),
                        unit(&["in²", "in2", "in^2", "sq in"], INCH_M * INCH_M),
                    ]
                }
            }
            Dimension::Volume => {
                const {
                    &[
                        unit(&["L", "l", "litre", "litres", "liter", "liters"], 1.0),
                        unit(&["mL", "ml"], 1e-3),
                        unit(&["m³", "m3", "m^3"], 1e3),
                        unit(&["gal", "gallon", "gallons"], GALLON_L),
                    ]
                }
            }
            Dimension::Flow => {
                const {
                    &[
                        unit(&["L/min", "l/min"], 1.0),
                        unit(&["L/h", "l/h"], 1.0 / 60.0),
                        unit(&["L/s", "l/s"], 60.0),
                        unit(&["gal/min", "gpm"], GALLON_L),
                        unit(&["gal/h", "gph"], GALLON_L / 60.0),
                    ]
                }
            }
            Dimension::Mass => {
                const { &[unit(&["kg"], 1.0), unit(&["g"], 1e-3), unit(&["lb", "lbs"], 0.453_592_37)] }
            }
            Dimension::Speed => {
                const {
                    &[
                        unit(&["m/s"], 1.0),
                        unit(&["km/h"], 1.0 / 3.6),
                        unit(&["mph"], MPH_M_S),
                        unit(&["ft/s"], 12.0 * INCH_M),
                    ]
                }
            }
            Dimension::Angle => const { &[unit(&["deg", "°", "degree", "degrees"], 1.0)] },
            Dimension::AngularSpeed => {
                const {
                    &[
                        unit(&["deg/s", "°/s"], 1.0),
                        unit(&["deg/min", "°/min"], 1.0 / 60.0),
                        unit(&["rpm"], 6.0),
                    ]
                }
            }
            Dimension::Duration => {
                const {
                    &[
                        unit(&["min", "minute", "minutes"], 1.0),
                        unit(&["h", "hour", "hours"], 60.0),
                        unit(&["s", "second", "seconds"], 1.0 / 60.0),
                        unit(&["d", "day", "days"], 1440.0),
                    ]
                }
            }
            Dimension::Hours => {
                const {
                    &[
                        unit(&["h", "hour", "hours"], 1.0),
                        unit(&["min", "minute", "minutes"], 1.0 / 60.0),
                        unit(&["d", "day", "days"], 24.0),
                    ]
                }
            }
            Dimension::Years => {
                const {
                    &[
                        unit(&["years", "year", "y", "a"], 1.0),
                        unit(&["months", "month"], 1.0 / 12.0),
                        unit(&["d", "day", "days"], 1.0 / 365.25),
                    ]
                }
            }
            Dimension::Share => const { &[unit(&["%", "percent"], 1e-2)] },
            Dimension::ShareAMonth => const { &[unit(&["%/month", "% a month", "%"], 1e-2)] },
            Dimension::Temperature => {
                const {
                    &[
                        unit(&["°C", "degC", "deg C", "C"], 1.0),
                        // °C = (°F - 32) 5/9
                        Unit {
                            names: &["°F", "degF", "deg F", "F"],
                            factor: 5.0 / 9.0,
                            offset: -160.0 / 9.0,
                        },
                        Unit { names: &["K"], factor: 1.0, offset: -273.15 },
                    ]
                }
            }
            Dimension::Irradiance => {
                const { &[unit(&["W/m²", "W/m2", "W/m^2"], 1.0), unit(&["kW/m²", "kW/m2", "kW/m^2"], 1e3)] }
            }
            Dimension::TemperatureCoefficient => {
                const { &[unit(&["%/K", "%/°C", "%/C"], 1e-2), unit(&["1/K", "/K"], 1.0)] }
            }
            Dimension::HeatLoss => {
                const {
                    &[unit(&["W/(m² K)", "W/(m2 K)", "W/m2K", "W/m²K", "W/m2/K", "W/m²/K", "W/(m2K)"], 1.0)]
                }
            }
            Dimension::HeatLossByWind => {
                const { &[unit(&["W s/(m³ K)", "W s/(m3 K)", "Ws/m3K", "Ws/m³K", "Ws/(m3 K)"], 1.0)] }
            }
            Dimension::Rate => {
                const { &[unit(&["/h", "1/h", "per hour"], 1.0), unit(&["/d", "1/d", "per day"], 1.0 / 24.0)] }
            }
            Dimension::Number => const { &[unit(&[""], 1.0)] },
        }
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
