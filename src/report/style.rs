//! How text is set: width, colour, characters, units.

use crate::units::System;

/// How text for a terminal is set.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// Columns, at least 48 are used.
    pub width: usize,
    /// Whether escape sequences may be written (`NO_COLOR`, `TERM=dumb`, pipes: no).
    pub colour: bool,
    /// Whether characters beyond ASCII may be written. Only those of code page 437 are used, which
    /// every Windows console font has.
    pub unicode: bool,
    /// Units of what is shown to people; files for machines are always SI.
    pub units: System,
}

impl Style {
    /// Plain text of 80 columns in SI units, safe anywhere.
    pub const PLAIN: Style = Style { width: 80, colour: false, unicode: false, units: System::Si };

    /// `±` or its ASCII stand-in.
    pub fn pm(&self) -> &'static str {
        if self.unicode { "±" } else { "+/-" }
    }

    pub(super) fn columns(&self) -> usize {
        self.width.clamp(48, 200)
    }

    pub(super) fn paint(&self, style: anstyle::Style, text: &str) -> String {
        if self.colour && !text.is_empty() {
            format!("{}{text}{}", style.render(), style.render_reset())
        } else {
            text.to_owned()
        }
    }
}

/// A volume given in L as a reader of these units is used to it, with its unit.
pub(crate) fn volume(litres: f64, units: System) -> (f64, &'static str) {
    match units {
        System::Si => (litres, "L"),
        // 231 cubic inches of exactly 25.4 mm.
        System::Us => (litres / 3.785_411_784, "gal"),
    }
}

/// A small height given in m, likewise.
pub(crate) fn height(metres: f64, units: System) -> (f64, &'static str) {
    match units {
        System::Si => (metres * 1000.0, "mm"),
        System::Us => (metres / 0.0254, "in"),
    }
}
