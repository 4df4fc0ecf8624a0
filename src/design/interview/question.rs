//! The questions, in words.

/// One question. Asked in the order of [`Question::ALL`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Question {
    /// Name of the build.
    Name,
    /// Weather file.
    Weather,
    /// Rated power of the panel.
    PanelPower,
    /// One voltage of the panel's label.
    PanelVoltage,
    /// Kind of mount.
    Mount,
    /// Where a fixed panel faces.
    Facing,
    /// How steep a fixed panel is.
    Tilt,
    /// Chemistry of the battery, or none.
    Battery,
    /// Voltage and capacity of the battery.
    BatterySize,
    /// Kind of pump.
    Pump,
    /// One bench row of the pump, or two.
    PumpBench,
    /// Height of the jet that is wanted.
    Jet,
    /// Season in which it is wanted.
    Season,
    /// Hours of the day.
    Hours,
    /// Run after sunset.
    DuskRun,
    /// Area and usable volume of the basin.
    Basin,
    /// How the basin is filled.
    Filling,
}

use Question::*;

impl Question {
    /// Every question, in order.
    pub const ALL: [Question; 17] = [
        Name,
        Weather,
        PanelPower,
        PanelVoltage,
        Mount,
        Facing,
        Tilt,
        Battery,
        BatterySize,
        Pump,
        PumpBench,
        Jet,
        Season,
        Hours,
        DuskRun,
        Basin,
        Filling,
    ];

    /// The question, in a few words.
    pub fn words(self) -> &'static str {
        match self {
            Name => "Name of the build",
            Weather => "Weather file",
            PanelPower => "Power of the panel",
            PanelVoltage => "Voltage of the panel",
            Mount => "Mount of the panel",
            Facing => "Direction the panel faces",
            Tilt => "Tilt of the panel",
            Battery => "Battery",
            BatterySize => "Voltage and capacity of the battery",
            Pump => "Motor of the pump",
            PumpBench => "Voltage, current and jet of the pump",
            Jet => "Lowest jet that counts",
            Season => "Season",
            Hours => "Hours in which the jet is wanted",
            DuskRun => "Run after sunset",
            Basin => "Area and usable water of the basin",
            Filling => "Filling of the basin",
        }
    }

    /// What may be answered, and where to find it.
    pub fn help(self) -> &'static str {
        match self {
            Name => "Any words, for the head of the results.",
            Weather => {
                "A typical year of hourly weather for your place, as EPW, TMY3 or CSV. Many national weather services \
                 publish such files. Write its name as seen from the folder of the design."
            }
            PanelPower => "From the label, like 10 W. Not sure: a range like 8 to 12 W.",
            PanelVoltage => {
                "Without load (Voc), like 10.8 V. If the label gives only the voltage at maximum power (Vmp), write mp 9 V."
            }
            Mount => {
                "fixed; sun-following (turns to the computed position of the sun); or light-seeking (turns to the brightest light)."
            }
            Facing => {
                "A point of the compass, like south or SE, or degrees from north, like 180 deg (90 is east)."
            }
            Tilt => "From the horizontal: 0 deg lies flat, 90 deg stands upright.",
            Battery => "none, lithium ion, lithium iron phosphate, lead-acid, or nickel-metal hydride.",
            BatterySize => "From the label, like 6.4 V, 3 Ah.",
            Pump => "brushed (a plain DC motor), or electronic (brushless, with its own electronics).",
            PumpBench => {
                "Measured with a meter and a rule, or from the label, like 6 V, 290 mA, 43 cm. A second row after a semicolon \
                 makes the results more certain: 3 V, 110 mA, 12 cm; 6 V, 290 mA, 43 cm."
            }
            Jet => "A lower jet does not count, like 20 cm.",
            Season => "First and last day, as month-day, like 04-01 to 10-31.",
            Hours => {
                "Like sunrise + 1 h to sunset + 1 h, or clock times (standard time) like 09:00 to 22:00."
            }
            DuskRun => "How long the jet should run after sunset, like 60 min; or none.",
            Basin => "Open water surface, and litres between full and the low-water mark, like 0.5 m2, 20 L.",
            Filling => {
                "always (a float valve or a tap), rain (nobody fills it), or every so many days, like every 7 days."
            }
        }
    }
}
