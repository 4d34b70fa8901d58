//! One websocket to the browser: calls with their answers, and the events that arrive in between.

use anyhow::{Context, Result, bail};
use serde_json::{Value, json};
use std::collections::VecDeque;
use std::io::ErrorKind;
use std::net::TcpStream;
use std::time::{Duration, Instant};
use tungstenite::{Message, WebSocket};

/// How long an answer may take; page scripts that wait for something have a limit of their own.
const ANSWER_WITHIN: Duration = Duration::from_secs(60);
/// How long one read may block, so that time limits are seen.
const READ_SLICE: Duration = Duration::from_millis(50);

/// Something the browser told without being asked.
pub(crate) struct Event {
    /// The target's session it came from; empty for the browser itself.
    pub(crate) session: String,
    pub(crate) method: String,
    pub(crate) params: Value,
}

/// The open connection.
pub(crate) struct Cdp {
    socket: WebSocket<TcpStream>,
    last_id: u64,
    events: VecDeque<Event>,
}

impl Cdp {
    /// Connects to the address that the browser wrote into its profile.
    pub(crate) fn connect(port: u16, path: &str) -> Result<Self> {
        let stream = TcpStream::connect(("127.0.0.1", port))?;
        stream.set_nodelay(true)?;
        let address = format!("ws://127.0.0.1:{port}{path}");
        let (socket, _) = tungstenite::client(address, stream).context("talking to the browser")?;
        socket.get_ref().set_read_timeout(Some(READ_SLICE))?;
        Ok(Self { socket, last_id: 0, events: VecDeque::new() })
    }

    /// Calls a method, on the browser itself when `session` is empty, and waits for its result.
    pub(crate) fn call(&mut self, session: &str, method: &str, params: Value) -> Result<Value> {
        let id = self.send(session, method, params)?;
        let deadline = Instant::now() + ANSWER_WITHIN;
        while Instant::now() < deadline {
            let Some(mut message) = self.read()? else {
                continue;
            };
            if message["id"] == json!(id) {
                if let Some(error) = message.get("error") {
                    bail!("{method}: {}", error["message"].as_str().unwrap_or("refused"));
                }
                return Ok(message["result"].take());
            }
        }
        bail!("{method}: no answer within {} s", ANSWER_WITHIN.as_secs())
    }

    /// Calls a method without waiting; a late answer is passed over.
    pub(crate) fn send(&mut self, session: &str, method: &str, params: Value) -> Result<u64> {
        self.last_id += 1;
        let mut message = json!({"id": self.last_id, "method": method, "params": params});
        if !session.is_empty() {
            message["sessionId"] = json!(session);
        }
        self.socket
            .send(Message::text(message.to_string()))
            .with_context(|| format!("{method}: the browser is gone"))?;
        Ok(self.last_id)
    }

    /// Takes in whatever arrives within the time.
    pub(crate) fn listen(&mut self, time: Duration) -> Result<()> {
        let deadline = Instant::now() + time;
        while Instant::now() < deadline {
            self.read()?;
        }
        Ok(())
    }

    /// The oldest event nobody has looked at.
    pub(crate) fn event(&mut self) -> Option<Event> {
        self.events.pop_front()
    }

    /// Reads one message; events are kept, answers are given back, silence gives nothing.
    fn read(&mut self) -> Result<Option<Value>> {
        let message = match self.socket.read() {
            Ok(Message::Text(text)) => serde_json::from_str::<Value>(&text)?,
            Ok(_) => return Ok(None),
            Err(tungstenite::Error::Io(problem))
                if matches!(problem.kind(), ErrorKind::WouldBlock | ErrorKind::TimedOut) =>
            {
                return Ok(None);
            }
            Err(problem) => return Err(problem).context("the browser is gone"),
        };
        let Some(method) = message["method"].as_str() else {
            return Ok(Some(message));
        };
        self.events.push_back(Event {
            session: message["sessionId"].as_str().unwrap_or_default().to_owned(),
            method: method.to_owned(),
            params: message["params"].clone(),
        });
        Ok(None)
    }
}
