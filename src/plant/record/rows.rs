//! A set of named values for each trial of a block, in memory ([`RowF64`](crate::lanes::RowF64), or [`RowF32`](crate::lanes::RowF32))
//! and in lanes.

/// Declares a struct of rows, the same struct over lanes, and the way between them. `by the minute` keeps them as
/// [`RowF32`](crate::lanes::RowF32): for what the minute step reads again and again.
macro_rules! rows {
    ($(#[$doc:meta])* $rows:ident / $lanes:ident by the minute { $($fields:tt)* }) => {
        rows! { @in RowF32, $(#[$doc])* $rows / $lanes { $($fields)* } }
    };
    ($(#[$doc:meta])* $rows:ident / $lanes:ident { $($fields:tt)* }) => {
        rows! { @in RowF64, $(#[$doc])* $rows / $lanes { $($fields)* } }
    };
    (@in $row:ident, $(#[$doc:meta])* $rows:ident / $lanes:ident { $($(#[$field_doc:meta])* $field:ident),* $(,)? }) => {
        $(#[$doc])*
        #[derive(Clone, Debug, Default, PartialEq)]
        pub(crate) struct $rows { $($(#[$field_doc])* pub $field: $crate::lanes::$row),* }

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
                $($crate::lanes::BlockRow::set(&mut self.$field, lane, values.$field);)*
            }
        }
    };
}
pub(crate) use rows;
