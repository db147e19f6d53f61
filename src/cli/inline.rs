//! Pictures in the terminal, by the open protocols that terminals understand; by block
//! characters elsewhere.

use std::fmt::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use crate::export::Pixels;

/// How a picture gets into a terminal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
pub(super) enum Protocol {
    /// What the environment says
    Auto,
    /// Graphics by application program commands (ECMA-48 APC): PNG in chunks of base64
    Apc,
    /// A file by an operating system command (ECMA-48 OSC 1337): PNG as one base64 text
    Osc,
    /// Sixels, 216 colours
    Sixel,
    /// Upper half blocks in 24-bit colours
    Blocks,
    /// Letters by their darkness, without colour
    Letters,
}

/// Longest chunk of base64 that one such command takes, bytes.
const CHUNK: usize = 4096;

/// Widest picture of blocks, characters.
const MOST_COLUMNS: u32 = 200;

/// Width where the terminal does not say it, characters.
const USUAL_COLUMNS: u32 = 80;

/// Characters from light to dark.
const LETTERS: &[u8] = b" .:-=+*#%@";

impl Protocol {
    /// The protocol that `get`, which reads environment variables, asks for.
    pub(super) fn of(self, get: impl Fn(&str) -> Option<String>) -> Protocol {
        if self != Protocol::Auto {
            return self;
        }
        let has = |name: &str, words: &[&str]| {
            get(name).is_some_and(|value| words.iter().any(|word| value.contains(word)))
        };
        let between = has("TERM", &["screen", "tmux"]);
        match () {
            // The words are those that terminals write into the environment themselves. What
            // multiplexes them passes blocks only.
            () if between && get("NO_COLOR").is_none() => Protocol::Blocks,
            () if !between && (has("TERM", &["kitty"]) || get("KITTY_WINDOW_ID").is_some()) => {
                Protocol::Apc
            }
            () if !between && has("TERM_PROGRAM", &["iTerm", "WezTerm"]) => Protocol::Osc,
            () if !between && has("TERM", &["sixel", "foot", "mlterm"]) => Protocol::Sixel,
            () if get("NO_COLOR").is_some() => Protocol::Letters,
            () => Protocol::Blocks,
        }
    }

    /// The size in pixels to draw for it, where `wanted` is asked for.
    pub(super) fn size(self, wanted: (u32, u32), columns: Option<u32>) -> (u32, u32) {
        if !matches!(self, Protocol::Blocks | Protocol::Letters) {
            return wanted;
        }
        let width = columns.unwrap_or(USUAL_COLUMNS).clamp(20, MOST_COLUMNS);
        let rows = (width * wanted.1).div_ceil(2 * wanted.0).max(1);
        (width, 2 * rows)
    }

    /// The text that shows a picture.
    pub(super) fn text(self, picture: &Pixels) -> String {
        match self {
            Protocol::Apc => apc(&picture.png()),
            Protocol::Osc => {
                let png = picture.png();
                let size = png.len();
                format!("\x1b]1337;File=inline=1;size={size}:{}\x07\n", STANDARD.encode(png))
            }
            Protocol::Sixel => sixel(picture),
            Protocol::Letters => letters(picture),
            Protocol::Blocks | Protocol::Auto => blocks(picture),
        }
    }
}

fn apc(png: &[u8]) -> String {
    let data = STANDARD.encode(png);
    let mut out = String::new();
    let chunks = data.as_bytes().chunks(CHUNK);
    let last = chunks.len().saturating_sub(1);
    for (i, chunk) in chunks.enumerate() {
        let head = if i == 0 { "a=T,f=100," } else { "" };
        let more = u8::from(i < last);
        out.push_str(&format!("\x1b_G{head}m={more};"));
        out.push_str(&String::from_utf8_lossy(chunk));
        out.push_str("\x1b\\");
    }
    out + "\n"
}

/// Levels of each channel: 6 x 6 x 6 colours.
const LEVELS: u32 = 6;

fn sixel(picture: &Pixels) -> String {
    let number = |x: u32, y: u32| {
        let level = |c: u8| (u32::from(c) * (LEVELS - 1) + 127) / 255;
        let [r, g, b] = picture.at(x, y).map(level);
        (r * LEVELS + g) * LEVELS + b
    };
    let mut out = format!("\x1bPq\"1;1;{};{}", picture.width, picture.height);
    for colour in 0..LEVELS.pow(3) {
        let share = |level: u32| level * 100 / (LEVELS - 1);
        let [r, g, b] =
            [colour / LEVELS.pow(2), colour / LEVELS % LEVELS, colour % LEVELS].map(share);
        // Writing to a String does not fail.
        let _ = write!(out, "#{colour};2;{r};{g};{b}");
    }
    for top in (0..picture.height).step_by(6) {
        let rows = 6.min(picture.height - top);
        let mut used = std::collections::BTreeMap::<u32, Vec<u8>>::new();
        for x in 0..picture.width {
            for row in 0..rows {
                let column = used.entry(number(x, top + row));
                column.or_insert_with(|| vec![0; picture.width as usize])[x as usize] |= 1 << row;
            }
        }
        for (colour, columns) in used {
            let _ = write!(out, "#{colour}");
            for run in columns.chunk_by(|a, b| a == b) {
                let sign = char::from(63 + run[0]);
                match run.len() {
                    1..=3 => out.extend(std::iter::repeat_n(sign, run.len())),
                    n => drop(write!(out, "!{n}{sign}")),
                }
            }
            out.push('$');
        }
        out.push('-');
    }
    out + "\x1b\\\n"
}

fn blocks(picture: &Pixels) -> String {
    let mut out = String::new();
    for y in (0..picture.height).step_by(2) {
        let mut before = None;
        for x in 0..picture.width {
            let (upper, lower) = (picture.at(x, y), picture.at(x, (y + 1).min(picture.height - 1)));
            if before != Some((upper, lower)) {
                let ([r, g, b], [u, v, w]) = (upper, lower);
                out.push_str(&format!("\x1b[38;2;{r};{g};{b};48;2;{u};{v};{w}m"));
                before = Some((upper, lower));
            }
            out.push('\u{2580}');
        }
        out.push_str("\x1b[0m\n");
    }
    out
}

fn letters(picture: &Pixels) -> String {
    let mut out = String::new();
    for y in (0..picture.height).step_by(2) {
        let letter = |x: u32| {
            let sum: u32 = picture.at(x, y).iter().map(|c| u32::from(*c)).sum();
            let dark = (765 - sum) as usize * LETTERS.len() / 766;
            char::from(LETTERS[dark])
        };
        let row: String = (0..picture.width).map(letter).collect();
        out.push_str(row.trim_end());
        out.push('\n');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Wider than high, of no round size, with many colours.
    fn picture() -> Pixels {
        let (width, height) = (61, 20);
        let pixel =
            |i: u32| [(i % 61 * 4) as u8, (i / 61 * 12) as u8, if i % 7 < 3 { 255 } else { 0 }];
        Pixels { width, height, rgb: (0..width * height).flat_map(pixel).collect() }
    }

    fn asked(given: &[(&str, &str)]) -> Protocol {
        let get = |name: &str| {
            given.iter().find(|(key, _)| *key == name).map(|(_, value)| (*value).to_owned())
        };
        Protocol::Auto.of(get)
    }

    #[test]
    fn the_environment_says_the_protocol() {
        assert_eq!(asked(&[("TERM", "xterm-kitty")]), Protocol::Apc);
        assert_eq!(asked(&[("TERM", "xterm"), ("TERM_PROGRAM", "iTerm.app")]), Protocol::Osc);
        assert_eq!(asked(&[("TERM", "foot")]), Protocol::Sixel);
        assert_eq!(asked(&[("TERM", "xterm-256color")]), Protocol::Blocks);
        assert_eq!(asked(&[("TERM", "dumb"), ("NO_COLOR", "1")]), Protocol::Letters);
        assert_eq!(asked(&[("TERM", "screen"), ("KITTY_WINDOW_ID", "1")]), Protocol::Blocks);
        assert_eq!(Protocol::Sixel.of(|_| None), Protocol::Sixel);
    }

    #[test]
    fn chunks_are_the_png() {
        let png: Vec<u8> = (0..10_000u32).map(|i| (i * i % 251) as u8).collect();
        let text = apc(&png);
        let mut data = String::new();
        let chunks: Vec<&str> = text.trim_end().split_terminator("\x1b\\").collect();
        for (i, chunk) in chunks.iter().enumerate() {
            let (head, body) =
                chunk.strip_prefix("\x1b_G").and_then(|c| c.split_once(';')).expect("a chunk");
            assert!(body.len() <= CHUNK);
            assert_eq!(head.ends_with("m=1"), i + 1 < chunks.len(), "{head}");
            assert_eq!(head.contains("f=100"), i == 0);
            data.push_str(body);
        }
        assert_eq!(STANDARD.decode(data).expect("base64"), png);
    }

    /// Reads sixels as a terminal does.
    fn shown(text: &str, width: usize, height: usize) -> Vec<Option<u32>> {
        let mut pixels = vec![None; width * height];
        let body =
            text.strip_prefix("\x1bPq").and_then(|t| t.strip_suffix("\x1b\\\n")).expect("sixels");
        let from = body.find("#0;2;").expect("colours");
        let mut rest = body[from..].chars().peekable();
        let (mut x, mut top, mut colour) = (0, 0, 0);
        while let Some(c) = rest.next() {
            let mut count = || {
                let mut digits = String::new();
                while let Some(d) = rest.next_if(char::is_ascii_digit) {
                    digits.push(d);
                }
                digits.parse::<u32>().expect("a number")
            };
            match c {
                '#' => {
                    colour = count();
                    while rest.next_if(|c| *c == ';' || c.is_ascii_digit()).is_some() {}
                }
                '$' => x = 0,
                '-' => (x, top) = (0, top + 6),
                _ => {
                    let (n, sign) = match c {
                        '!' => (count(), rest.next().expect("a sign")),
                        _ => (1, c),
                    };
                    for _ in 0..n {
                        let bits = sign as u32 - 63;
                        for row in (0..6).filter(|row| bits >> row & 1 == 1) {
                            pixels[(top + row) * width + x] = Some(colour);
                        }
                        x += 1;
                    }
                }
            }
        }
        pixels
    }

    #[test]
    fn sixels_are_the_picture() {
        let picture = picture();
        let text = sixel(&picture);
        let seen = shown(&text, picture.width as usize, picture.height as usize);
        for (i, colour) in seen.iter().enumerate() {
            let colour = colour.expect("every pixel has a colour");
            let (x, y) = (i as u32 % picture.width, i as u32 / picture.width);
            let levels = [colour / 36, colour / 6 % 6, colour % 6];
            for (level, wanted) in levels.iter().zip(picture.at(x, y)) {
                assert!((level * 51).abs_diff(u32::from(wanted)) <= 26, "{x} {y}");
            }
        }
    }

    #[test]
    fn blocks_fill_the_width() {
        let size = Protocol::Blocks.size((1200, 560), Some(100));
        assert_eq!(size, (100, 48));
        assert_eq!(Protocol::Apc.size((1200, 560), Some(100)), (1200, 560));
        let text = blocks(&picture());
        assert_eq!(text.lines().count(), 10);
        assert_eq!(text.matches('\u{2580}').count(), 610);
        let dark = letters(&Pixels { width: 3, height: 2, rgb: vec![0; 18] });
        assert_eq!(dark, "@@@\n");
    }
}
