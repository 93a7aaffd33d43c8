//! Slips of the keyboard and worse, in the text of a document: nothing here knows the format.

use super::{happens, one};
use rand::RngExt;
use underturf::rng::Stream;

/// Numbers that a reader or a computation may stumble over.
const NUMBERS: &[&str] = &[
    "0",
    "-0.0",
    "-1",
    "1e308",
    "-1e308",
    "1e309",
    "1e-320",
    "nan",
    "NaN",
    "inf",
    "-inf",
    "null",
    "1_000",
    "999999999999999999999",
    "9223372036854775807",
    "0x7f",
    "0.1.2",
    "1e6",
    "1e-9",
    "\"\"",
    "\"12in\"",
    "[]",
    "{}",
    "true",
    "2026-05-04",
];

/// Pieces of text that end things, begin things or are no characters of a document.
const PIECES: &[&str] = &[
    "[",
    "]",
    "{",
    "}",
    "\"",
    "'",
    "=",
    ",",
    "\n",
    "#",
    "\\u0000",
    "\u{feff}",
    "\u{0}",
    "\u{202e}",
    "é",
    "🌱",
    "[[heads]]\n",
    "[probes]\n",
    "\"\"\"",
    "x = 1\n",
    "...",
];

/// The text with one to four changes.
pub fn changed(mut text: String, rng: &mut Stream) -> String {
    for _ in 0..rng.random_range(1..=4) {
        text = match rng.random_range(0..9) {
            0 => bytes(&text, rng),
            1 | 2 => number(&text, rng),
            3 => swapped(&text, rng),
            4 => line_dropped(&text, rng),
            5 => line_repeated(&text, rng),
            6 => inserted(&text, one::<&str>(PIECES, rng), rng),
            7 => nested(&text, rng),
            _ => cut(&text, rng),
        };
    }
    text
}

/// A place between two characters.
fn place(text: &str, rng: &mut Stream) -> usize {
    let mut at = rng.random_range(0..=text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

fn bytes(text: &str, rng: &mut Stream) -> String {
    let mut bytes = text.as_bytes().to_vec();
    for _ in 0..rng.random_range(1..=8) {
        if !bytes.is_empty() {
            let at = rng.random_range(0..bytes.len());
            bytes[at] = rng.random_range(0..=255);
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Where numbers stand.
fn numbers(text: &str) -> Vec<(usize, usize)> {
    let mut found = Vec::new();
    let mut start = None;
    for (at, c) in text.char_indices().chain([(text.len(), ' ')]) {
        let part = c.is_ascii_digit() || matches!(c, '.' | '-' | '+' | 'e');
        match start {
            None if c.is_ascii_digit() => start = Some(at),
            Some(from) if !part => {
                found.push((from, at));
                start = None;
            }
            _ => {}
        }
    }
    found
}

fn number(text: &str, rng: &mut Stream) -> String {
    let known = numbers(text);
    if known.is_empty() {
        return text.to_owned();
    }
    let &(from, to) = one(&known, rng);
    let own: f64 = text[from..to].parse().unwrap_or(1.0);
    let new = match rng.random_range(0..5) {
        0 => format!("{}", -own),
        1 => format!("{}", own * 10f64.powi(rng.random_range(-4..5))),
        2 => format!("{}", own * rng.random_range(0.5..2.0)),
        _ => (*one(NUMBERS, rng)).to_owned(),
    };
    format!("{}{new}{}", &text[..from], &text[to..])
}

/// Two numbers change places.
fn swapped(text: &str, rng: &mut Stream) -> String {
    let known = numbers(text);
    if known.len() < 2 {
        return text.to_owned();
    }
    let (mut a, mut b) = (*one(&known, rng), *one(&known, rng));
    if a.0 > b.0 {
        (a, b) = (b, a);
    }
    if a == b {
        return text.to_owned();
    }
    let (first, second) = (&text[a.0..a.1], &text[b.0..b.1]);
    format!("{}{second}{}{first}{}", &text[..a.0], &text[a.1..b.0], &text[b.1..])
}

fn lines(text: &str) -> Vec<&str> {
    text.split_inclusive(if text.contains('\n') { '\n' } else { ',' }).collect()
}

fn line_dropped(text: &str, rng: &mut Stream) -> String {
    let mut lines = lines(text);
    if !lines.is_empty() {
        lines.remove(rng.random_range(0..lines.len()));
    }
    lines.concat()
}

/// A line, or a block of them, once more: beside itself or elsewhere.
fn line_repeated(text: &str, rng: &mut Stream) -> String {
    let mut lines = lines(text);
    if lines.is_empty() {
        return String::new();
    }
    let from = rng.random_range(0..lines.len());
    let to = (from + rng.random_range(1..6)).min(lines.len());
    let block: Vec<&str> = lines[from..to].to_vec();
    let at = if happens(0.5, rng) { to } else { rng.random_range(0..=lines.len()) };
    lines.splice(at..at, block);
    lines.concat()
}

fn inserted(text: &str, piece: &str, rng: &mut Stream) -> String {
    let at = place(text, rng);
    format!("{}{piece}{}", &text[..at], &text[at..])
}

/// Lists within lists, in place of a number: few or very many.
fn nested(text: &str, rng: &mut Stream) -> String {
    let known = numbers(text);
    let depth = *one(&[1, 2, 40, 200, 3_000], rng);
    let (open, close) = *one(&[("[", "]"), ("{ a = ", " }"), ("{\"a\":", "}")], rng);
    let (from, to) = if known.is_empty() { (0, 0) } else { *one(&known, rng) };
    format!("{}{}1{}{}", &text[..from], open.repeat(depth), close.repeat(depth), &text[to..])
}

fn cut(text: &str, rng: &mut Stream) -> String {
    let (a, b) = (place(text, rng), place(text, rng));
    if happens(0.5, rng) {
        text[..a].to_owned()
    } else {
        format!("{}{}", &text[..a.min(b)], &text[a.max(b)..])
    }
}
