//! Why a shape cannot be as it is written.

use std::borrow::Cow;

/// Least and most that a length may be, m: a thousandth of a millimetre and a hundred metres.
pub(super) const SPAN: (f64, f64) = (1e-6, 100.0);

/// Why a solid cannot be as it is written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The size at fault, as the manifest names it.
    pub field: &'static str,
    /// What is wrong.
    pub says: Cow<'static, str>,
    /// What would put it right.
    pub hint: Cow<'static, str>,
}

impl Fault {
    pub(super) fn new(
        field: &'static str,
        says: impl Into<Cow<'static, str>>,
        hint: impl Into<Cow<'static, str>>,
    ) -> Self {
        Self { field, says: says.into(), hint: hint.into() }
    }
}
