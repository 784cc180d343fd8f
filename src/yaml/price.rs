//! Prices.

use crate::figure::Unreadable;
use rust_decimal::Decimal;

/// A price: a plain number, exact, in the currency of the build.
///
/// # Errors
/// Says what is wrong with it, with the number written rightly where it is known.
pub fn price(text: &str) -> Result<Decimal, Unreadable> {
    const CURRENCY: &str = "the currency is given under `build:`";
    let number = |text: &str| {
        let plain = text.starts_with(|c: char| c.is_ascii_digit())
            && text.chars().all(|c| c.is_ascii_digit() || c == '.');
        let price = text.parse::<Decimal>().ok().filter(|_| plain)?;
        (price.scale() <= 4 && price <= Decimal::from(100_000_000)).then_some(price)
    };
    if let Some(price) = number(text) {
        return Ok(price);
    }
    let aside = |c: char| c.is_alphabetic() || c.is_whitespace() || "£$€¥".contains(c);
    let bare = text.trim_matches(aside);
    let unreadable = |says: &str, hint: String| Err(Unreadable { says: says.to_owned(), hint });
    match bare.split_once(',') {
        Some((whole, rest)) if rest.len() == 3 && number(whole).is_some() => {
            let says = "a comma may set thousands apart or be a decimal point";
            unreadable(says, format!("write {whole}{rest} or {whole}.{rest}"))
        }
        Some((whole, rest)) if number(&format!("{whole}.{rest}")).is_some() => {
            let says = "there is a comma in this price; decimals follow a point";
            unreadable(says, format!("write {whole}.{rest}"))
        }
        None if bare != text && number(bare).is_some() => {
            unreadable("a price is a plain number", format!("write {bare}; {CURRENCY}"))
        }
        _ => {
            let says = format!("`{text}` is not a price");
            unreadable(&says, format!("write a plain number, such as 53.00; {CURRENCY}"))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_price_is_what_it_says() {
        for (text, cents) in [("53.00", 5300), ("0", 0), ("27.5", 2750)] {
            assert_eq!(price(text).expect(text), Decimal::new(cents, 2), "{text}");
        }
        for (text, hint) in [
            ("53,00", "write 53.00"),
            ("53,5", "write 53.5"),
            ("1,250", "write 1250 or 1.250"),
            ("£53", "write 53; the currency"),
            ("9.60 GBP", "write 9.60; the currency"),
            ("€ 9,60", "write 9.60"),
            ("ninety", "such as 53.00"),
            ("NaN", "such as 53.00"),
            ("1e3", "such as 53.00"),
            ("-3", "such as 53.00"),
            ("1.2.3", "such as 53.00"),
            ("", "such as 53.00"),
        ] {
            assert!(price(text).expect_err(text).hint.contains(hint), "{text}: {:?}", price(text));
        }
    }
}
