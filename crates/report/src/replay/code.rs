//! Fill frames as a short string: 16 levels, difference from the frame before, run lengths, base64.
//!
//! `web/src/wire/code.ts` reads it back; both sides are tested against `web/test/code-fixture.json`.
//!
//! A frame is a list of levels 0..15, one for each cell. It is written as tokens of one byte against the frame
//! before it (all 0 before the first): `0nnnnnnn` leaves n + 1 cells as they are; `1rrrdddd` adds d (1..15,
//! modulo 16) to each of the next r + 1 cells. Tokens of one frame cover its cells exactly.

/// Shares 0..255 as levels 0..15; only the cells of `inside`, when given.
///
/// A share that is not 0 or 255 never becomes an empty or a full level by rounding alone at the very ends:
/// 0 and 15 take what lies within half a level of them, as any rounding does.
pub fn levels(shares: &[u8], inside: Option<&[usize]>) -> Vec<u8> {
    let level = |s: u8| ((u16::from(s) * 15 + 127) / 255) as u8;
    match inside {
        Some(cells) => cells.iter().map(|&c| level(shares[c])).collect(),
        None => shares.iter().map(|&s| level(s)).collect(),
    }
}

/// Frames of equal length as tokens.
pub fn pack(frames: &[Vec<u8>]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut before = vec![0; frames.first().map_or(0, Vec::len)];
    for frame in frames {
        let delta = |i: usize| frame[i].wrapping_sub(before[i]) & 15;
        let mut i = 0;
        while i < frame.len() {
            let d = delta(i);
            let most = if d == 0 { 128 } else { 8 };
            let mut run = 1;
            while run < most && i + run < frame.len() && delta(i + run) == d {
                run += 1;
            }
            out.push(if d == 0 {
                (run - 1) as u8
            } else {
                0x80 | ((run - 1) as u8) << 4 | d
            });
            i += run;
        }
        before.clone_from(frame);
    }
    out
}

/// Frames of `cells` levels from tokens; `None` when the tokens do not fall into whole frames.
pub fn unpack(tokens: &[u8], cells: usize) -> Option<Vec<Vec<u8>>> {
    let mut frames = Vec::new();
    let mut frame = vec![0u8; cells];
    let mut at = 0;
    for &token in tokens {
        let (run, d) = if token < 0x80 {
            (usize::from(token) + 1, 0)
        } else {
            (usize::from(token >> 4 & 7) + 1, token & 15)
        };
        for level in frame.get_mut(at..at + run)? {
            *level = (*level + d) & 15;
        }
        at += run;
        if at == cells {
            frames.push(frame.clone());
            at = 0;
        }
    }
    (at == 0).then_some(frames)
}

/// Bytes as base64 with padding (RFC 4648, section 4).
pub fn base64(bytes: &[u8]) -> String {
    const LETTERS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
    let mut out = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for group in bytes.chunks(3) {
        let word = group.iter().fold(0u32, |w, b| w << 8 | u32::from(*b)) << (8 * (3 - group.len()));
        for i in 0..4 {
            if i <= group.len() {
                out.push(char::from(LETTERS[(word >> (18 - 6 * i) & 63) as usize]));
            } else {
                out.push('=');
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Frames that any reader can make again: a slanted surface that rises and falls.
    fn made(cells: usize, frames: usize) -> Vec<Vec<u8>> {
        (0..frames)
            .map(|f| {
                (0..cells)
                    .map(|c| ((c * 7 + f * f * 13) % 40).min(15) as u8)
                    .collect()
            })
            .collect()
    }

    #[test]
    fn frames_come_back_as_they_went() {
        for cells in [1, 7, 128, 129, 1000] {
            let frames = made(cells, 9);
            assert_eq!(unpack(&pack(&frames), cells), Some(frames), "{cells} cells");
        }
    }

    #[test]
    fn a_token_that_runs_past_a_frame_is_refused() {
        assert_eq!(unpack(&[4], 4), None);
        assert_eq!(unpack(&[1], 4), None);
    }

    /// RFC 4648, section 10: the published test vectors.
    #[test]
    fn base64_matches_the_published_vectors() {
        for (plain, coded) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(base64(plain.as_bytes()), coded);
        }
    }

    /// The same file is read by `web/test/code.test.ts`: the two sides cannot drift apart.
    #[test]
    fn the_shared_fixture_is_what_this_side_writes() {
        let text = include_str!("../../../../web/test/code-fixture.json");
        let fixture: serde_json::Value = serde_json::from_str(text).expect("the fixture is JSON");
        let frames: Vec<Vec<u8>> =
            serde_json::from_value(fixture["frames"].clone()).expect("frames of levels");
        assert_eq!(fixture["coded"], base64(&pack(&frames)));
    }
}
