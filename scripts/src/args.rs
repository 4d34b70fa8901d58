//! The few words after a command, taken one by one; what is left over is an error.

use anyhow::{Context, Result, bail};

/// Words after the command that nobody has taken yet.
pub struct Args(Vec<String>);

impl Args {
    /// Starts with all words after the command.
    pub fn new(words: Vec<String>) -> Self {
        Self(words)
    }

    /// Takes a switch such as `--dev`; true when it was there.
    pub fn switch(&mut self, name: &str) -> bool {
        let before = self.0.len();
        self.0.retain(|word| word != name);
        self.0.len() != before
    }

    /// Takes `--name VALUE` or `--name=VALUE`.
    ///
    /// # Errors
    ///
    /// When the name is there and no value follows.
    pub fn value(&mut self, name: &str) -> Result<Option<String>> {
        let glued = format!("{name}=");
        for at in 0..self.0.len() {
            if let Some(value) = self.0[at].strip_prefix(&glued) {
                let value = value.to_owned();
                self.0.remove(at);
                return Ok(Some(value));
            }
            if self.0[at] == name {
                self.0.remove(at);
                if at < self.0.len() && !self.0[at].starts_with("--") {
                    return Ok(Some(self.0.remove(at)));
                }
                bail!("{name} needs a value after it");
            }
        }
        Ok(None)
    }

    /// Takes `--name N` as a number.
    ///
    /// # Errors
    ///
    /// When the value is missing or no number of the wanted type.
    pub fn number<N>(&mut self, name: &str) -> Result<Option<N>>
    where
        N: std::str::FromStr,
        N::Err: std::error::Error + Send + Sync + 'static,
    {
        self.value(name)?
            .map(|text| text.parse().with_context(|| format!("{name} {text}: not a number that fits")))
            .transpose()
    }

    /// Takes the first word that is no switch.
    pub fn word(&mut self) -> Option<String> {
        let at = self.0.iter().position(|word| !word.starts_with("--"))?;
        Some(self.0.remove(at))
    }

    /// Ends the taking.
    ///
    /// # Errors
    ///
    /// When a word is left that no switch or value has claimed.
    pub fn end(self) -> Result<()> {
        match self.0.first() {
            None => Ok(()),
            Some(word) => bail!("{word:?} means nothing here; `cargo xtask help` says what does"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Args;

    fn args(text: &str) -> Args {
        Args::new(text.split_whitespace().map(str::to_owned).collect())
    }

    #[test]
    fn switches_and_values_are_taken_once() {
        let mut args = args("--port 9 --dev --dir=a here");
        assert!(args.switch("--dev"));
        assert!(!args.switch("--dev"));
        assert_eq!(args.number::<u16>("--port").unwrap(), Some(9));
        assert_eq!(args.value("--dir").unwrap().as_deref(), Some("a"));
        assert_eq!(args.word().as_deref(), Some("here"));
        assert_eq!(args.word(), None);
        args.end().unwrap();
    }

    #[test]
    fn what_nobody_takes_or_lacks_a_value_is_refused() {
        assert!(args("--prot 9").end().is_err());
        assert!(args("--port").value("--port").is_err());
        assert!(args("--port --dev").value("--port").is_err());
        assert!(args("--port 70000").number::<u16>("--port").is_err());
    }
}
