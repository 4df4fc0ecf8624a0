//! A set of named values for each trial of a block, in memory ([`Row`]) and in lanes.

use crate::lanes::Row;

/// Declares a struct of rows, the same struct over lanes, and the way between them.
macro_rules! rows {
    ($(#[$doc:meta])* $rows:ident / $lanes:ident { $($(#[$field_doc:meta])* $field:ident),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, Default, PartialEq)]
        pub(crate) struct $rows { $($(#[$field_doc])* pub $field: $crate::lanes::Row),* }

        $(#[$doc])*
        #[derive(Clone, Copy, Debug)]
        pub(crate) struct $lanes<V> { $($(#[$field_doc])* pub $field: V),* }

        #[allow(dead_code)]
        impl<V: $crate::lanes::Lane> $lanes<V> {
            /// The lanes from place `at` on.
            #[inline(always)]
            pub fn of(rows: &$rows, at: usize) -> Self {
                $lanes { $($field: V::of(&rows.$field, at)),* }
            }
            /// Writes the lanes from place `at` on.
            #[inline(always)]
            pub fn put(self, rows: &mut $rows, at: usize) {
                $(self.$field.put(&mut rows.$field, at);)*
            }
        }

        #[allow(dead_code)]
        impl $rows {
            /// One trial's values.
            pub fn set(&mut self, lane: usize, values: $lanes<f64>) {
                $(self.$field.0[lane] = values.$field;)*
            }
        }
    };
}
pub(crate) use rows;

/// Adds lanes to a row in memory.
#[inline(always)]
pub(crate) fn add_to<V: crate::lanes::Lane>(row: &mut Row, at: usize, x: V) {
    (V::of(row, at) + x).put(row, at);
}
