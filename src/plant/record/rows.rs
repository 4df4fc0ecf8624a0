//! Structs of named values for each trial of a block: in memory and over lanes.

/// Declares a struct of rows in memory, the same struct over lanes, and the way between them.
///
/// Rows are [`RowF64`](crate::lanes::RowF64); `of RowF32` keeps them in single precision, for what the minute step reads
/// again and again. A field under `flags` is a yes or no: 1 or 0 in memory, a mask over lanes.
macro_rules! rows {
    ($(#[$doc:meta])* $rows:ident / $lanes:ident of RowF32 { $($fields:tt)* } $(flags { $($flags:tt)* })?) => {
        rows! { @in RowF32, $(#[$doc])* $rows / $lanes { $($fields)* } { $($($flags)*)? } }
    };
    ($(#[$doc:meta])* $rows:ident / $lanes:ident { $($fields:tt)* } $(flags { $($flags:tt)* })?) => {
        rows! { @in RowF64, $(#[$doc])* $rows / $lanes { $($fields)* } { $($($flags)*)? } }
    };
    (
        @in $row:ident, $(#[$doc:meta])* $rows:ident / $lanes:ident
        { $($(#[$field_doc:meta])* $field:ident),* $(,)? }
        { $($(#[$flag_doc:meta])* $flag:ident),* $(,)? }
    ) => {
        $(#[$doc])*
        #[derive(Clone, Debug, Default, PartialEq)]
        pub(crate) struct $rows {
            $($(#[$field_doc])* pub $field: $crate::lanes::$row,)*
            $($(#[$flag_doc])* pub $flag: $crate::lanes::$row,)*
        }

        $(#[$doc])*
        #[derive(Clone, Copy, Debug)]
        pub(crate) struct $lanes<V: $crate::lanes::Lane> {
            $($(#[$field_doc])* pub $field: V,)*
            $($(#[$flag_doc])* pub $flag: V::Mask,)*
        }

        #[allow(dead_code)]
        impl<V: $crate::lanes::Lane> $lanes<V> {
            /// The lanes from place `at` on.
            #[inline(always)]
            pub(crate) fn of(rows: &$rows, at: usize) -> Self {
                $lanes {
                    $($field: V::of(&rows.$field, at),)*
                    $($flag: V::of(&rows.$flag, at).gt(V::splat(0.5)),)*
                }
            }
            /// Writes the lanes from place `at` on.
            #[inline(always)]
            pub(crate) fn put(self, rows: &mut $rows, at: usize) {
                $(self.$field.put(&mut rows.$field, at);)*
                $(V::one_if(self.$flag).put(&mut rows.$flag, at);)*
            }
        }

        #[allow(dead_code)]
        impl $rows {
            /// Takes over the values of a trial of another block, bit by bit.
            pub(crate) fn take(&mut self, lane: usize, from: &Self, from_lane: usize) {
                $(self.$field.0[lane] = from.$field.0[from_lane];)*
                $(self.$flag.0[lane] = from.$flag.0[from_lane];)*
            }
            /// Sets one trial's values.
            pub(crate) fn set(&mut self, lane: usize, values: $lanes<f64>) {
                $($crate::lanes::BlockRow::set(&mut self.$field, lane, values.$field);)*
                $($crate::lanes::BlockRow::set(&mut self.$flag, lane, f64::from(u8::from(values.$flag)));)*
            }
        }
    };
}
pub(crate) use rows;
