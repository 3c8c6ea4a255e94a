//! The word that proves that who asks was given the opening address.

use std::fmt::Write;

/// 128 random bits as 32 hexadecimal digits.
#[derive(Clone)]
pub struct Token(String);

impl Token {
    /// A fresh one from the system's chance.
    pub fn fresh() -> std::io::Result<Token> {
        let mut bytes = [0; 16];
        getrandom::fill(&mut bytes).map_err(|e| std::io::Error::other(e.to_string()))?;
        let mut text = String::new();
        for byte in bytes {
            write!(text, "{byte:02x}").expect("a string takes all");
        }
        Ok(Token(text))
    }

    /// As it stands in the opening address.
    pub fn text(&self) -> &str {
        &self.0
    }

    /// Whether `offered` is this token, in a time that does not tell how much of it is right.
    pub fn is(&self, offered: &[u8]) -> bool {
        let own = self.0.as_bytes();
        let apart = own
            .iter()
            .zip(offered)
            .fold(0, |apart, (a, b)| std::hint::black_box(apart | (a ^ b)));
        offered.len() == own.len() && apart == 0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_whole_token_is_the_token() {
        let token = Token::fresh().unwrap();
        let text = token.text().to_owned();
        assert_eq!(text.len(), 32);
        assert!(token.is(text.as_bytes()));
        for wrong in [
            "",
            &text[..31],
            &format!("{text}0"),
            &"0".repeat(32),
            &text.to_uppercase().replace('0', "1"),
        ] {
            assert!(!token.is(wrong.as_bytes()), "{wrong}");
        }
        assert_ne!(text, Token::fresh().unwrap().text());
    }
}
