//! How the closed lists of codes in this folder are written down: one line a code.
//!
//! Not for lists outside it; the other modules write theirs out.

/// Makes a closed list: an enum whose every value has a stable code.
macro_rules! closed_list {
    ($(#[$about:meta])* $name:ident { $($(#[$says:meta])* $value:ident = $code:literal,)+ }) => {
        $(#[$about])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum $name {
            $($(#[$says])* $value,)+
        }

        impl $name {
            /// All of them, in the order of the list.
            pub const ALL: &'static [Self] = &[$(Self::$value,)+];

            /// The stable code, used in records and exports. Never renamed.
            #[must_use]
            pub const fn code(self) -> &'static str {
                match self {
                    $(Self::$value => $code,)+
                }
            }

            /// Finds the one with this code.
            #[must_use]
            pub fn from_code(code: &str) -> Option<Self> {
                match code {
                    $($code => Some(Self::$value),)+
                    _ => None,
                }
            }
        }
    };
}

pub(super) use closed_list;
