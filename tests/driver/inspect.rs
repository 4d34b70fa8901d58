//! What is looked at on every screen: accessibility rules and the size of everything to tap.

use super::Browser;
use anyhow::{Context, Result, ensure};
use serde_json::Value;

/// Runs inside the page: everything visible and interactive smaller than 48 px both ways round.
///
/// Drawn smaller is allowed only inside a label or row that is the target itself.
const SMALL_TARGETS: &str = r#"(() => {
  const least = 48 - 0.5;
  const seen = (el) => {
    const box = el.getBoundingClientRect();
    return box.width > 1 && box.height > 1 && el.checkVisibility({ checkVisibilityCSS: true });
  };
  const big = (el) => {
    const box = el.getBoundingClientRect();
    return box.width >= least && box.height >= least;
  };
  const found = [];
  for (const el of document.querySelectorAll('a[href],button,input,select,textarea,summary,[role=button],[role=link],[role=checkbox],[tabindex="0"]')) {
    if (el.type === 'hidden' || !seen(el) || big(el)) continue;
    const label = el.closest('label') ?? el.labels?.[0];
    if (label && big(label)) continue;
    const box = el.getBoundingClientRect();
    const name = (el.getAttribute('aria-label') ?? el.textContent ?? '').trim().slice(0, 40);
    found.push(`${el.tagName.toLowerCase()}.${el.className} "${name}" ${Math.round(box.width)}x${Math.round(box.height)}`);
  }
  return found;
})()"#;

/// Runs inside the page after the rules have been loaded.
///
/// What a bar at the foot happens to cut is looked at once more where it is scrolled to, as a person would.
const RUN_RULES: &str = r#"(async () => {
  const run = async (what) => (await axe.run(what, {
    resultTypes: ['violations'],
    rules: { 'color-contrast-enhanced': { enabled: true }, 'target-size': { enabled: true } },
  })).violations.flatMap((rule) => rule.nodes.map((node) => [rule.id, node.target.join(' '), node.failureSummary]));
  const found = [];
  for (const [rule, target, why] of await run(document)) {
    if (rule === 'target-size' && why.includes('partially obscured')) {
      const cut = document.querySelector(target);
      cut.scrollIntoView({ block: 'center', behavior: 'instant' });
      const again = await run(cut);
      if (!again.some(([same]) => same === rule)) continue;
    }
    found.push(`${rule}: ${target}: ${why.split('\n').slice(1, 3).join(' ').trim()}`);
  }
  return found;
})()"#;

impl Browser {
    /// Fails when the screen breaks an accessibility rule or has something to tap below 48 px.
    ///
    /// `rules` is the text of axe-core, from the file named by `BLOOMDUE_AXE`.
    ///
    /// # Errors
    ///
    /// Names every finding, after `screen`.
    pub fn inspect(&mut self, screen: &str, rules: &str) -> Result<()> {
        let mut found = strings(&self.eval(SMALL_TARGETS)?)?;
        if self.eval("typeof axe")? != "object" {
            // The text is an expression statement; its value is not needed and could not be sent.
            self.eval(&format!("{rules};0"))?;
        }
        found.extend(strings(&self.eval(RUN_RULES)?)?);
        ensure!(found.is_empty(), "{screen}:\n      {}", found.join("\n      "));
        Ok(())
    }

    /// Fails when anything on the screen is wider than the screen.
    ///
    /// # Errors
    ///
    /// Says how wide the page is.
    pub fn check_no_sideways(&mut self, screen: &str) -> Result<()> {
        let wide = self.eval("document.documentElement.scrollWidth - window.innerWidth")?;
        let wide = wide.as_f64().context("a number")?;
        ensure!(wide <= 0.5, "{screen} is {wide} px wider than the screen");
        Ok(())
    }
}

fn strings(list: &Value) -> Result<Vec<String>> {
    let list = list.as_array().context("a list of findings")?;
    Ok(list.iter().map(|line| line.as_str().unwrap_or_default().to_owned()).collect())
}
