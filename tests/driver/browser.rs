//! A Chromium with its profile: screens, taps, and what may not happen unnoticed.

use super::cdp::{Cdp, Event};
use anyhow::{Context, Result, bail, ensure};
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD as BASE64;
use serde_json::{Value, json};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

/// How long the browser may take to come up, and anything to appear on a screen.
const UP_WITHIN: Duration = Duration::from_secs(30);
/// The usual patience of [`Browser::wait_until`] and [`Browser::tap`].
const PATIENCE: Duration = Duration::from_secs(10);
/// Between two looks at something awaited.
const PAUSE: Duration = Duration::from_millis(30);

/// How many times slower than this machine pages are made, and how much more patience they get: what `cargo xtask test
/// --slow TIMES` asks for, to find checks, and screens, that hold only where an answer comes at once.
fn slowness() -> f64 {
    let named = std::env::var("BLOOMDUE_SLOW").ok();
    named.and_then(|times| times.parse().ok()).unwrap_or(1.0)
}

/// Put into every page before its own scripts: policy violations are said aloud.
const WATCH: &str = "addEventListener('securitypolicyviolation', (event) => \
    console.error(`policy violation: ${event.violatedDirective} ${event.blockedURI} ${event.sourceFile}`));";

/// The language and region of the device, unless a check is about another: days and numbers are written by them.
const LANGUAGE: &str = "en-GB";

/// Finds the element that a name means, for [`Browser::tap`] and [`Browser::fill`].
const FIND: &str = include_str!("find.js");

/// The size and kind of the screen.
#[derive(Clone, Copy)]
pub struct Screen {
    width: u32,
    height: u32,
    ratio: u32,
    touch: bool,
}

impl Screen {
    /// The phone every screen is drawn for first: 360 by 740, two device pixels each, touch.
    #[must_use]
    pub fn phone() -> Self {
        Self { width: 360, height: 740, ratio: 2, touch: true }
    }

    /// A desk screen of 1280 by 800 with a mouse.
    #[must_use]
    pub fn desk() -> Self {
        Self::plain(1280, 800)
    }

    /// Any size, one device pixel each, with a mouse.
    #[must_use]
    pub fn plain(width: u32, height: u32) -> Self {
        Self { width, height, ratio: 1, touch: false }
    }
}

/// One tab, by the name the browser gave its session.
#[derive(Clone, PartialEq, Eq)]
pub struct Tab {
    target: String,
    session: String,
}

/// A running browser; killed on drop.
pub struct Browser {
    process: Child,
    cdp: Cdp,
    profile: PathBuf,
    screen: Screen,
    language: &'static str,
    tab: Tab,
    workers: Vec<String>,
    offline: bool,
    origin: Option<String>,
    problems: Vec<String>,
    allowed: Vec<String>,
    taps: u32,
    n_typed: u32,
}

/// The Chromium of this machine.
#[must_use]
pub fn find_chromium() -> Option<PathBuf> {
    if let Some(named) = std::env::var_os("BLOOMDUE_CHROMIUM") {
        return Some(named.into());
    }
    let path = std::env::var_os("PATH")?;
    let names = ["chromium", "chromium-browser", "google-chrome"];
    std::env::split_paths(&path)
        .flat_map(|folder| names.map(|name| folder.join(name)))
        .find(|program| program.is_file())
}

/// Resolves after the page has drawn twice.
const TWO_FRAMES: &str = "new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))";

impl Browser {
    /// Starts Chromium without a window on a profile, which may be new or one used before.
    ///
    /// # Errors
    ///
    /// When there is no Chromium or it does not come up.
    pub fn launch(profile: &Path, screen: Screen) -> Result<Self> {
        Self::launch_in(profile, screen, LANGUAGE)
    }

    /// Starts Chromium on a device whose language and region are these.
    ///
    /// # Errors
    ///
    /// As [`Self::launch`].
    pub fn launch_in(profile: &Path, screen: Screen, language: &'static str) -> Result<Self> {
        let chromium = find_chromium().context("no Chromium on this machine")?;
        let port_file = profile.join("DevToolsActivePort");
        // Both stay behind when the last browser on this profile was killed.
        for left in [&port_file, &profile.join("SingletonLock")] {
            let _ = std::fs::remove_file(left);
        }
        let mut process = Command::new(chromium)
            .args([
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--disable-quic",
                "--disable-dev-shm-usage",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                "--disable-default-apps",
                "--hide-scrollbars",
                "--remote-debugging-port=0",
                // Nothing outside this machine can be reached, whatever the page tries. One invented name
                // leads here too: over plain http a browser trusts it no more than any local network.
                "--host-resolver-rules=MAP plain.test 127.0.0.1, MAP * ~NOTFOUND, EXCLUDE localhost, EXCLUDE 127.0.0.1",
            ])
            .arg(format!("--lang={language}"))
            .arg(format!("--accept-lang={language}"))
            .arg(format!("--user-data-dir={}", profile.display()))
            .arg("about:blank")
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .context("starting Chromium")?;
        let cdp = match connect(&port_file, &mut process) {
            Ok(cdp) => cdp,
            Err(problem) => {
                let _ = process.kill();
                let _ = process.wait();
                return Err(problem);
            }
        };
        let mut browser = Self {
            process,
            cdp,
            profile: profile.to_owned(),
            screen,
            language,
            tab: Tab { target: String::new(), session: String::new() },
            workers: Vec::new(),
            offline: false,
            origin: None,
            problems: Vec::new(),
            allowed: Vec::new(),
            taps: 0,
            n_typed: 0,
        };
        // Offline workers are attached as they come, so that their requests are seen too.
        browser.cdp.call(
            "",
            "Target.setAutoAttach",
            json!({"autoAttach": true, "waitForDebuggerOnStart": false, "flatten": true,
                   "filter": [{"type": "service_worker"}]}),
        )?;
        let targets = browser.cdp.call("", "Target.getTargets", json!({}))?;
        let first = targets["targetInfos"]
            .as_array()
            .and_then(|all| all.iter().find(|target| target["type"] == "page"))
            .context("the browser has no page")?;
        let first = text(&first["targetId"]);
        browser.tab = browser.attach(first)?;
        Ok(browser)
    }

    /// Kills the browser as a flat battery would, and starts it again on the same profile.
    ///
    /// What was collected so far, and the taps, are carried over.
    ///
    /// # Errors
    ///
    /// When it does not come up again.
    pub fn kill_and_reopen(&mut self) -> Result<()> {
        self.collect()?;
        self.kill()?;
        let mut next = Self::launch_in(&self.profile, self.screen, self.language)?;
        next.problems = std::mem::take(&mut self.problems);
        next.allowed = std::mem::take(&mut self.allowed);
        next.origin = self.origin.take();
        next.taps = self.taps;
        next.n_typed = self.n_typed;
        *self = next;
        Ok(())
    }

    /// Kills the browser's process (SIGKILL), nothing flushed.
    ///
    /// # Errors
    ///
    /// When it cannot be ended.
    pub fn kill(&mut self) -> Result<()> {
        self.process.kill()?;
        self.process.wait()?;
        Ok(())
    }

    fn attach(&mut self, target: String) -> Result<Tab> {
        let answer = self.cdp.call("", "Target.attachToTarget", json!({"targetId": target, "flatten": true}))?;
        let session = text(&answer["sessionId"]);
        for domain in ["Page", "Runtime", "Network", "Log", "DOM"] {
            self.cdp.call(&session, &format!("{domain}.enable"), json!({}))?;
        }
        let watch = json!({"source": WATCH});
        self.cdp.call(&session, "Page.addScriptToEvaluateOnNewDocument", watch)?;
        let screen = self.screen;
        self.cdp.call(
            &session,
            "Emulation.setDeviceMetricsOverride",
            json!({"width": screen.width, "height": screen.height,
                   "deviceScaleFactor": screen.ratio, "mobile": screen.touch}),
        )?;
        if slowness() > 1.0 {
            self.cdp.call(&session, "Emulation.setCPUThrottlingRate", json!({"rate": slowness()}))?;
        }
        if screen.touch {
            let touch = json!({"enabled": true, "maxTouchPoints": 1});
            self.cdp.call(&session, "Emulation.setTouchEmulationEnabled", touch)?;
        }
        Ok(Tab { target, session })
    }

    /// Opens one more tab and turns to it; the answer is the tab left behind.
    ///
    /// # Errors
    ///
    /// When the browser refuses.
    pub fn new_tab(&mut self) -> Result<Tab> {
        let made = self.cdp.call("", "Target.createTarget", json!({"url": "about:blank"}))?;
        let tab = self.attach(text(&made["targetId"]))?;
        Ok(std::mem::replace(&mut self.tab, tab))
    }

    /// Turns to another tab, bringing it to the front; the answer is the tab left behind.
    ///
    /// # Errors
    ///
    /// When that tab is closed.
    pub fn turn_to(&mut self, tab: Tab) -> Result<Tab> {
        self.cdp.call("", "Target.activateTarget", json!({"targetId": tab.target}))?;
        Ok(std::mem::replace(&mut self.tab, tab))
    }

    /// Closes a tab that is not the current one.
    ///
    /// # Errors
    ///
    /// When it is the current one or closed already.
    pub fn close_tab(&mut self, tab: &Tab) -> Result<()> {
        ensure!(*tab != self.tab, "turn to another tab first");
        self.cdp.call("", "Target.closeTarget", json!({"targetId": tab.target}))?;
        Ok(())
    }

    /// Calls a method of the DevTools protocol on the current tab.
    ///
    /// # Errors
    ///
    /// When the browser refuses.
    pub fn call(&mut self, method: &str, params: Value) -> Result<Value> {
        let session = self.tab.session.clone();
        self.cdp.call(&session, method, params)
    }

    /// Opens an address and waits until the page is loaded. Requests to any other origin count as
    /// problems from here on.
    ///
    /// # Errors
    ///
    /// When the page cannot be reached.
    pub fn open(&mut self, address: &str) -> Result<()> {
        let path = address.match_indices('/').nth(2);
        self.origin = Some(path.map_or(address, |(at, _)| &address[..at]).to_owned());
        let answer = self.call("Page.navigate", json!({"url": address}))?;
        if let Some(error) = answer["errorText"].as_str() {
            bail!("{address}: {error}");
        }
        self.wait_until("document.readyState === 'complete'")
    }

    /// Loads the page again and waits until it is loaded.
    ///
    /// # Errors
    ///
    /// When it does not load.
    pub fn reload(&mut self) -> Result<()> {
        self.eval("void (window.bloomdueBefore = true)")?;
        self.call("Page.reload", json!({}))?;
        self.wait_until("!window.bloomdueBefore && document.readyState === 'complete'")
    }

    /// Shows a page that is given as text.
    ///
    /// # Errors
    ///
    /// When the browser refuses.
    pub fn show_html(&mut self, html: &str) -> Result<()> {
        let tree = self.call("Page.getFrameTree", json!({}))?;
        let frame = tree["frameTree"]["frame"]["id"].clone();
        self.call("Page.setDocumentContent", json!({"frameId": frame, "html": html}))?;
        self.wait_until("document.readyState === 'complete'")
    }

    /// The value of an expression in the page; a promise is awaited.
    ///
    /// # Errors
    ///
    /// When it throws, with what it threw.
    pub fn eval(&mut self, expression: &str) -> Result<Value> {
        let mut answer = self
            .call("Runtime.evaluate", json!({"expression": expression, "awaitPromise": true, "returnByValue": true}))?;
        if let Some(thrown) = answer.get("exceptionDetails") {
            let what = thrown["exception"]["description"].as_str().or_else(|| thrown["text"].as_str());
            bail!("the page threw {}", what.unwrap_or("something"));
        }
        Ok(answer["result"]["value"].take())
    }

    /// Waits until an expression is true.
    ///
    /// # Errors
    ///
    /// When it is not within the usual patience.
    pub fn wait_until(&mut self, expression: &str) -> Result<()> {
        self.wait_within(expression, PATIENCE)
    }

    /// Waits until an expression is true, for at most the given time.
    ///
    /// # Errors
    ///
    /// When it is not; the text says what the page shows instead.
    pub fn wait_within(&mut self, expression: &str, time: Duration) -> Result<()> {
        let deadline = Instant::now() + time.mul_f64(slowness());
        loop {
            // A page that is just being left answers with an error; that only means not yet.
            let found = self.eval(&format!("!!({expression})"));
            if matches!(found, Ok(Value::Bool(true))) {
                return Ok(());
            }
            if Instant::now() > deadline {
                bail!("never became true: {expression}; the page shows: {}", self.shown());
            }
            self.cdp.listen(PAUSE)?;
        }
    }

    /// The beginning of what the page shows, for the word of what went wrong.
    fn shown(&mut self) -> String {
        let shown = self.eval("document.body?.innerText ?? ''").unwrap_or_default();
        text(&shown).replace('\n', " | ").chars().take(300).collect()
    }

    /// Waits until a text is to be read somewhere on the screen.
    ///
    /// # Errors
    ///
    /// When it is not within the usual patience.
    pub fn see(&mut self, words: &str) -> Result<()> {
        self.wait_until(&format!("document.body.innerText.includes({})", json!(words)))
    }

    /// Taps what a name means: `css:SELECTOR`, or the visible text or accessible name of something
    /// to tap. Waits for it to appear and to be free of anything lying over it. Counts as one tap.
    ///
    /// # Errors
    ///
    /// When there is no such thing, or something lies over it.
    pub fn tap(&mut self, name: &str) -> Result<()> {
        let (x, y) = self.place_of(name)?;
        if self.screen.touch {
            let points = json!([{"x": x, "y": y}]);
            self.call("Input.dispatchTouchEvent", json!({"type": "touchStart", "touchPoints": points}))?;
            self.call("Input.dispatchTouchEvent", json!({"type": "touchEnd", "touchPoints": []}))?;
        } else {
            for kind in ["mousePressed", "mouseReleased"] {
                self.call(
                    "Input.dispatchMouseEvent",
                    json!({"type": kind, "x": x, "y": y, "button": "left", "clickCount": 1}),
                )?;
            }
        }
        self.taps += 1;
        Ok(())
    }

    /// Where the middle of a thing is, once it stands still and free.
    fn place_of(&mut self, name: &str) -> Result<(f64, f64)> {
        let find = format!("({FIND})({}, true)", json!(name));
        let deadline = Instant::now() + PATIENCE.mul_f64(slowness());
        let mut before = Value::Null;
        loop {
            let found = self.eval(&find).unwrap_or(Value::Null);
            if let (Some(x), Some(y)) = (found["x"].as_f64(), found["y"].as_f64()) {
                // A screen that has just come may still be scrolled to its heading: what stands in the same place
                // two frames later stands still.
                if found == before {
                    return Ok((x, y));
                }
                before = found;
                let _ = self.eval(TWO_FRAMES);
                continue;
            }
            before = Value::Null;
            if Instant::now() > deadline {
                let why = found["why"].as_str().unwrap_or("the page does not answer").to_owned();
                bail!("cannot tap {name:?}: {why}; the page shows: {}", self.shown());
            }
            self.cdp.listen(PAUSE)?;
        }
    }

    /// Taps a field, found like [`Browser::tap`] or by its label, and replaces what is in it.
    ///
    /// # Errors
    ///
    /// When there is no such field.
    pub fn fill(&mut self, name: &str, value: &str) -> Result<()> {
        self.tap(name)?;
        let kind = self.eval(&format!("({FIND})({}, false).tagName + ':' + ({FIND})({0}, false).type", json!(name)));
        let kind = text(&kind?).to_lowercase();
        if ["input:date", "input:time", "input:datetime-local", "input:range", "input:color"].contains(&&*kind)
            || kind.starts_with("select:")
        {
            // Typing into these depends on the language of the browser; their value does not.
            let set = format!(
                "(() => {{ const el = ({FIND})({}, false); el.value = {}; \
                 for (const kind of ['input', 'change']) el.dispatchEvent(new Event(kind, {{bubbles: true}})); \
                 return el.value; }})()",
                json!(name),
                json!(value)
            );
            let now = self.eval(&set)?;
            ensure!(now == value, "{name:?} does not take {value:?}");
            return Ok(());
        }
        self.eval("document.activeElement.select?.()")?;
        self.type_text(value)
    }

    /// Types into whatever has the focus.
    ///
    /// # Errors
    ///
    /// When the browser refuses.
    pub fn type_text(&mut self, words: &str) -> Result<()> {
        self.call("Input.insertText", json!({"text": words}))?;
        self.n_typed += words.chars().count() as u32;
        Ok(())
    }

    /// Presses one key by its name, such as `Enter`, `Tab` or `Escape`.
    ///
    /// # Errors
    ///
    /// When the browser refuses.
    pub fn press(&mut self, key: &str) -> Result<()> {
        let (code, typed) = match key {
            "Enter" => (13, "\r"),
            "Tab" => (9, ""),
            "Escape" => (27, ""),
            " " => (32, " "),
            _ => (0, ""),
        };
        for kind in ["keyDown", "keyUp"] {
            let mut event = json!({"type": kind, "key": key, "code": key, "windowsVirtualKeyCode": code});
            if kind == "keyDown" && !typed.is_empty() {
                event["text"] = json!(typed);
            }
            self.call("Input.dispatchKeyEvent", event)?;
        }
        Ok(())
    }

    /// Gives files to a file field, seen or not.
    ///
    /// # Errors
    ///
    /// When there is no such field.
    pub fn give_files(&mut self, css: &str, files: &[&Path]) -> Result<()> {
        self.wait_until(&format!("document.querySelector({})", json!(css)))?;
        let page = self.call("DOM.getDocument", json!({"depth": 0}))?;
        let node = self.call("DOM.querySelector", json!({"nodeId": page["root"]["nodeId"], "selector": css}))?;
        self.call("DOM.setFileInputFiles", json!({"nodeId": node["nodeId"], "files": files}))?;
        Ok(())
    }

    /// Lets downloads go into a folder.
    ///
    /// # Errors
    ///
    /// When the browser refuses.
    pub fn download_into(&mut self, folder: &Path) -> Result<()> {
        let behaviour = json!({"behavior": "allow", "downloadPath": folder});
        self.cdp.call("", "Browser.setDownloadBehavior", behaviour)?;
        Ok(())
    }

    /// Waits for a finished download in the folder, other than the names already known.
    ///
    /// # Errors
    ///
    /// When none comes within the usual patience.
    pub fn downloaded(&mut self, folder: &Path, known: &[PathBuf]) -> Result<PathBuf> {
        let deadline = Instant::now() + PATIENCE.mul_f64(slowness());
        let mut before = None;
        while Instant::now() < deadline {
            let mut found = None;
            for entry in std::fs::read_dir(folder)? {
                let path = entry?.path();
                // The browser writes under another name first, and may hold the final one with an empty file meanwhile.
                let name = path.file_name().unwrap_or_default().to_string_lossy();
                let unfinished = name.ends_with(".crdownload") || name.starts_with('.');
                let n_bytes = std::fs::metadata(&path).map_or(0, |file| file.len());
                if !unfinished && n_bytes > 0 && !known.contains(&path) {
                    found = Some((path, n_bytes));
                }
            }
            // Whole is what has not grown meanwhile.
            if let Some((path, _)) = found.as_ref().filter(|found| before.as_ref() == Some(*found)) {
                return Ok(path.clone());
            }
            before = found;
            self.cdp.listen(PAUSE)?;
        }
        bail!("nothing was downloaded")
    }

    /// Writes what the screen shows into a PNG file.
    ///
    /// # Errors
    ///
    /// When the file cannot be written.
    pub fn screenshot(&mut self, file: &Path) -> Result<()> {
        let shot = self.call("Page.captureScreenshot", json!({"format": "png"}))?;
        let bytes = BASE64.decode(text(&shot["data"]))?;
        std::fs::write(file, bytes).with_context(|| format!("writing {}", file.display()))
    }

    /// Cuts page and offline workers off from every network, or connects them again.
    ///
    /// # Errors
    ///
    /// When the browser refuses.
    pub fn set_offline(&mut self, offline: bool) -> Result<()> {
        self.collect()?;
        self.offline = offline;
        self.call("Network.emulateNetworkConditions", conditions(offline))?;
        for worker in self.workers.clone() {
            self.cdp.send(&worker, "Network.emulateNetworkConditions", conditions(offline))?;
        }
        Ok(())
    }

    /// Slows the page's own thread down, `1` for full speed.
    ///
    /// # Errors
    ///
    /// When the browser refuses.
    pub fn slow_down(&mut self, times: f64) -> Result<()> {
        self.call("Emulation.setCPUThrottlingRate", json!({"rate": times}))?;
        Ok(())
    }

    /// Lets the device ask for the dark or the light look.
    ///
    /// # Errors
    ///
    /// When the browser refuses.
    pub fn prefer_dark(&mut self, dark: bool) -> Result<()> {
        let value = if dark { "dark" } else { "light" };
        let features = json!([{"name": "prefers-color-scheme", "value": value}]);
        self.call("Emulation.setEmulatedMedia", json!({"features": features}))?;
        Ok(())
    }

    /// Grants permissions to the page's origin, such as `videoCapture` or `geolocation`.
    ///
    /// # Errors
    ///
    /// When the browser does not know one.
    pub fn grant(&mut self, permissions: &[&str]) -> Result<()> {
        let params = json!({"permissions": permissions, "origin": self.origin});
        self.cdp.call("", "Browser.grantPermissions", params)?;
        Ok(())
    }

    /// Taps since the start or the last [`Browser::reset_taps`].
    #[must_use]
    pub fn taps(&self) -> u32 {
        self.taps
    }

    /// Characters typed since the start.
    #[must_use]
    pub fn n_typed(&self) -> u32 {
        self.n_typed
    }

    /// Starts counting taps anew.
    pub fn reset_taps(&mut self) {
        self.taps = 0;
    }

    /// Problems whose text contains this are expected by the check.
    pub fn allow(&mut self, part: &str) {
        self.allowed.push(part.to_owned());
    }

    /// Ends a check: fails when the page logged an error, broke its policy or asked another origin.
    ///
    /// # Errors
    ///
    /// Names every such problem.
    pub fn finish(&mut self) -> Result<()> {
        self.cdp.listen(Duration::from_millis(100))?;
        self.collect()?;
        let allowed = std::mem::take(&mut self.allowed);
        self.problems.retain(|problem| !allowed.iter().any(|part| problem.contains(part)));
        ensure!(self.problems.is_empty(), "{}", self.problems.join("\n      "));
        Ok(())
    }

    /// Looks through what the browser told in the meantime.
    fn collect(&mut self) -> Result<()> {
        while let Some(event) = self.cdp.event() {
            if event.method == "Target.attachedToTarget" {
                let session = text(&event.params["sessionId"]);
                if event.params["targetInfo"]["type"] == "service_worker" {
                    for domain in ["Network", "Runtime"] {
                        // The worker may be gone already; then there is nothing to watch.
                        self.cdp.send(&session, &format!("{domain}.enable"), json!({}))?;
                    }
                    if self.offline {
                        self.cdp.send(&session, "Network.emulateNetworkConditions", conditions(true))?;
                    }
                    self.workers.push(session);
                }
            } else if event.method == "Target.detachedFromTarget" {
                let session = text(&event.params["sessionId"]);
                self.workers.retain(|worker| *worker != session);
            } else if let Some(problem) = problem_in(&event, self.origin.as_deref()) {
                let by = if self.workers.contains(&event.session) { "worker: " } else { "" };
                self.problems.push(format!("{by}{problem}"));
            }
        }
        Ok(())
    }
}

impl Drop for Browser {
    fn drop(&mut self) {
        // Already gone is fine; there is nobody to tell anything else.
        let _ = self.kill();
    }
}

/// What is wrong with an event, if anything.
fn problem_in(event: &Event, origin: Option<&str>) -> Option<String> {
    let params = &event.params;
    match event.method.as_str() {
        "Runtime.consoleAPICalled" if params["type"] == "error" => {
            let words: Vec<String> = params["args"]
                .as_array()?
                .iter()
                .map(|arg| match &arg["value"] {
                    Value::String(words) => words.clone(),
                    Value::Null => text(&arg["description"]),
                    other => other.to_string(),
                })
                .collect();
            Some(format!("console: {}", words.join(" ")))
        }
        "Runtime.exceptionThrown" => {
            let details = &params["exceptionDetails"];
            let what = details["exception"]["description"].as_str().or_else(|| details["text"].as_str());
            Some(format!("uncaught: {}", what.unwrap_or_default()))
        }
        "Log.entryAdded" if params["entry"]["level"] == "error" => {
            Some(format!("log: {} {}", text(&params["entry"]["text"]), text(&params["entry"]["url"])))
        }
        "Network.requestWillBeSent" => {
            let address = params["request"]["url"].as_str()?;
            let inside = ["data:", "blob:", "about:", "chrome-extension:"];
            let own = origin.is_none_or(|origin| address.starts_with(origin))
                || inside.iter().any(|scheme| address.starts_with(scheme));
            (!own).then(|| format!("foreign request: {address}"))
        }
        _ => None,
    }
}

fn conditions(offline: bool) -> Value {
    json!({"offline": offline, "latency": 0, "downloadThroughput": -1, "uploadThroughput": -1})
}

fn text(value: &Value) -> String {
    value.as_str().unwrap_or_default().to_owned()
}

/// Waits for the file in which the browser names its port, and connects.
fn connect(port_file: &Path, process: &mut Child) -> Result<Cdp> {
    let deadline = Instant::now() + UP_WITHIN;
    while Instant::now() < deadline {
        if let Some(status) = process.try_wait()? {
            bail!("Chromium ended at once ({status})");
        }
        let named = std::fs::read_to_string(port_file).unwrap_or_default();
        if let Some((port, path)) = named.trim().split_once('\n') {
            return Cdp::connect(port.parse()?, path);
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    bail!("Chromium did not come up")
}
