//! The symbols of the elements.

use crate::yaml::{Code, Cursor, nearest};
use std::sync::Arc;

/// The elements of the periodic table in the order of their numbers (IUPAC, 2016).
pub const ELEMENTS: [&str; 118] = [
    "H", "He", "Li", "Be", "B", "C", "N", "O", "F", "Ne", "Na", "Mg", "Al", "Si", "P", "S", "Cl",
    "Ar", "K", "Ca", "Sc", "Ti", "V", "Cr", "Mn", "Fe", "Co", "Ni", "Cu", "Zn", "Ga", "Ge", "As",
    "Se", "Br", "Kr", "Rb", "Sr", "Y", "Zr", "Nb", "Mo", "Tc", "Ru", "Rh", "Pd", "Ag", "Cd", "In",
    "Sn", "Sb", "Te", "I", "Xe", "Cs", "Ba", "La", "Ce", "Pr", "Nd", "Pm", "Sm", "Eu", "Gd", "Tb",
    "Dy", "Ho", "Er", "Tm", "Yb", "Lu", "Hf", "Ta", "W", "Re", "Os", "Ir", "Pt", "Au", "Hg", "Tl",
    "Pb", "Bi", "Po", "At", "Rn", "Fr", "Ra", "Ac", "Th", "Pa", "U", "Np", "Pu", "Am", "Cm", "Bk",
    "Cf", "Es", "Fm", "Md", "No", "Lr", "Rf", "Db", "Sg", "Bh", "Hs", "Mt", "Ds", "Rg", "Cn", "Nh",
    "Fl", "Mc", "Lv", "Ts", "Og",
];

/// Whether a word is the symbol of an element; a fault where it is none, at the key or the value.
pub fn is_element(cursor: &Cursor<'_>, word: &str, at_key: bool) -> bool {
    if ELEMENTS.contains(&word) {
        return true;
    }
    let otherwise = ELEMENTS.iter().find(|e| e.eq_ignore_ascii_case(word)).copied();
    let hint = match otherwise.or_else(|| nearest(word, ELEMENTS.iter().copied())) {
        Some(near) => format!("did you mean `{near}`?"),
        None => "write its symbol, such as Si, Cu or Zn".into(),
    };
    let says = format!("no element has the symbol `{word}`");
    match at_key {
        true => cursor.fault_at_key(Code::Word, says, hint),
        false => cursor.fault(Code::Word, says, hint),
    }
    false
}

/// The symbol of an element.
pub fn element(cursor: &Cursor<'_>) -> Option<Arc<str>> {
    cursor.text().filter(|word| is_element(cursor, word, false))
}
