//! Mutations: bytes flipped, cut, doubled, moved; words of the trade put in; two inputs crossed.

/// Numbers that look drawn and are the same for the same seed (xorshift64*, Vigna 2016).
pub struct Drawn(u64);

impl Drawn {
    pub fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    pub fn below(&mut self, most: usize) -> usize {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        let drawn = self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 32;
        (drawn as usize) % most.max(1)
    }
}

/// Signs and numbers at which readers stumble.
const USUAL: [&[u8]; 40] = [
    b"\0",
    b"\n",
    b"\r",
    b"\t",
    b" ",
    b":",
    b": ",
    b"- ",
    b"{",
    b"}",
    b"[",
    b"]",
    b"\"",
    b"'",
    b"#",
    b"&a ",
    b"*a",
    b"!",
    b"|\n",
    b">-\n",
    b"~",
    b"---\n",
    b"...",
    b"..",
    b",",
    b"%",
    b"0",
    b"-1",
    b"1e308",
    b"1e-320",
    b"NaN",
    b"inf",
    b"99999999999999999999",
    b"0x7f",
    b"\xff",
    b"\xc3",
    b"\xe2\x80\xae",
    b"\xef\xbb\xbf",
    b"<<: *a\n",
    b"\x1b[2J",
];

/// One to eight changes of an input.
pub fn mutated(base: &[u8], other: &[u8], words: &[&[u8]], drawn: &mut Drawn) -> Vec<u8> {
    const MOST: usize = 64 << 10;
    let mut out = base.to_vec();
    for _ in 0..=drawn.below(8) {
        let at = drawn.below(out.len() + 1);
        let most = if drawn.below(4) == 0 { 200 } else { 8 };
        let length = 1 + drawn.below(most);
        let end = (at + length).min(out.len());
        match drawn.below(9) {
            0 if at < out.len() => out[at] ^= 1 << drawn.below(8),
            1 if at < out.len() => out[at] = drawn.below(256) as u8,
            2 => drop(out.drain(at..end)),
            3 => {
                let copy = out[at..end].to_vec();
                let times = 1 + drawn.below(4);
                let copies = copy.repeat(times);
                out.splice(at..at, copies);
            }
            4 => {
                let word = USUAL[drawn.below(USUAL.len())];
                out.splice(at..at, word.iter().copied());
            }
            5 if !words.is_empty() => {
                let word = words[drawn.below(words.len())];
                let over = if drawn.below(2) == 0 { at } else { (at + word.len()).min(out.len()) };
                out.splice(at..over, word.iter().copied());
            }
            6 if !other.is_empty() => {
                let from = drawn.below(other.len());
                let to = (from + length * 4).min(other.len());
                out.splice(at..end, other[from..to].iter().copied());
            }
            7 => {
                let piece: Vec<u8> = out.drain(at..end).collect();
                let to = drawn.below(out.len() + 1);
                out.splice(to..to, piece);
            }
            _ => {
                // A digit for a digit: most of these stay sound and are read to the end.
                let digits = |b: &u8| b.is_ascii_digit();
                if let Some(found) = out.iter().skip(at).position(digits) {
                    out[at + found] = b'0' + drawn.below(10) as u8;
                }
            }
        }
    }
    out.truncate(MOST);
    out
}
