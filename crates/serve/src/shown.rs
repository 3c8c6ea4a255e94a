//! Files that may be looked at in a tab of their own, each under a word of its own.

use crate::question::Refusing;
use crate::token::Token;
use crate::wire;
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};

/// Files that have an address at a time; the oldest is forgotten.
const MOST: usize = 64;

/// What such a file may do: draw itself and run its own scripts, in no name but its own; load and ask nothing.
pub const POLICY: &str = "sandbox allow-scripts allow-modals allow-popups allow-downloads; default-src 'none'; \
script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data: blob:; media-src data: blob:; font-src data:; \
base-uri 'none'; form-action 'none'; frame-ancestors 'none'";

/// All of them, oldest first.
#[derive(Default)]
pub struct Shown(Mutex<Vec<(Token, PathBuf)>>);

impl Shown {
    /// Gives a file an address.
    pub fn give(&self, path: PathBuf) -> Result<wire::Shown, Refusing> {
        let token = Token::fresh().map_err(|e| {
            Refusing::one(
                500,
                format!("the system gave no random word: {e}"),
                "",
                "try again",
            )
        })?;
        let name = path.file_name().unwrap_or_default().to_string_lossy();
        let plain = |c: char| c.is_ascii_alphanumeric() || ".-_".contains(c);
        let name: String = name.chars().map(|c| if plain(c) { c } else { '-' }).collect();
        let address = format!("/shown/{}/{name}", token.text());
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if all.len() == MOST {
            all.remove(0);
        }
        all.push((token, path));
        Ok(wire::Shown { address })
    }

    /// The file at the part of an address behind `/shown/`.
    pub fn at(&self, rest: &str) -> Option<PathBuf> {
        let word = rest.split('/').next().unwrap_or_default();
        let all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let found = all.iter().find(|(token, _)| token.is(word.as_bytes()));
        found.map(|(_, path)| path.clone())
    }
}
