//! Chromium, driven by the WebDriver protocol (W3C WebDriver, a working draft of HTTP requests with JSON) through Debian's `chromedriver`.

use serde_json::{Value, json};
use std::error::Error;
use std::io::{Read, Write};
use std::net::{TcpListener, TcpStream};
use std::path::PathBuf;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

type Tried<T> = Result<T, Box<dyn Error>>;

/// Where a program is, if it is there.
fn program(name: &str) -> Option<PathBuf> {
    let path = std::env::var_os("PATH")?;
    let mut files = std::env::split_paths(&path).map(|folder| folder.join(name));
    files.find(|file| file.is_file())
}

/// A driver that runs until it is dropped.
pub(crate) struct Driver {
    process: Child,
    port: u16,
}

impl Drop for Driver {
    fn drop(&mut self) {
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

impl Driver {
    /// None where the machine has no browser or no driver.
    pub(crate) fn start() -> Tried<Option<Self>> {
        let (Some(driver), Some(_)) = (program("chromedriver"), program("chromium")) else {
            return Ok(None);
        };
        let port = TcpListener::bind("127.0.0.1:0")?.local_addr()?.port();
        let process = Command::new(driver)
            .args([&format!("--port={port}"), "--log-level=SEVERE"])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()?;
        let driver = Self { process, port };
        let began = Instant::now();
        while driver.call("GET", "/status", None).is_err() {
            if began.elapsed() > Duration::from_secs(20) {
                return Err("the driver does not answer".into());
            }
            std::thread::sleep(Duration::from_millis(50));
        }
        Ok(Some(driver))
    }

    fn call(&self, method: &str, path: &str, body: Option<&Value>) -> Tried<Value> {
        let mut stream = TcpStream::connect(("127.0.0.1", self.port))?;
        stream.set_read_timeout(Some(Duration::from_secs(60)))?;
        let body = body.map(Value::to_string).unwrap_or_default();
        let head = format!(
            "{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{}\r\nContent-Type: application/json\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
            self.port,
            body.len()
        );
        stream.write_all(head.as_bytes())?;
        stream.write_all(body.as_bytes())?;
        let mut answer = vec![];
        let mut block = [0; 65536];
        loop {
            let count = stream.read(&mut block)?;
            answer.extend_from_slice(&block[..count]);
            let whole = || -> Option<bool> {
                let end = answer.windows(4).position(|four| four == b"\r\n\r\n")? + 4;
                let head = String::from_utf8_lossy(&answer[..end]).to_lowercase();
                let length = head
                    .split("content-length:")
                    .nth(1)?
                    .split("\r\n")
                    .next()?
                    .trim()
                    .parse::<usize>()
                    .ok()?;
                Some(answer.len() >= end + length)
            };
            if count == 0 || whole() == Some(true) {
                break;
            }
        }
        let at = answer
            .windows(4)
            .position(|four| four == b"\r\n\r\n")
            .ok_or("no answer")?
            + 4;
        let value: Value = serde_json::from_slice(&answer[at..])?;
        if let Some(error) = value["value"]["error"].as_str() {
            let words = value["value"]["message"].as_str().unwrap_or_default();
            return Err(format!("{method} {path}: {error}: {}", words.lines().next().unwrap_or_default()).into());
        }
        Ok(value["value"].clone())
    }

    /// A browser window so wide; narrow ones are those of a phone.
    pub(crate) fn browser(&self, width: u32) -> Tried<Browser<'_>> {
        let args = [
            "--headless",
            "--no-sandbox",
            "--disable-gpu",
            "--disable-quic",
            "--no-first-run",
            "--disable-background-networking",
            "--disable-component-update",
            "--disable-sync",
            "--hide-scrollbars",
            "--force-prefers-reduced-motion",
        ];
        let options = json!({"binary": program("chromium").ok_or("no browser")?, "args": args});
        let asked = json!({"capabilities": {"alwaysMatch": {"goog:loggingPrefs": {"browser": "ALL"}, "goog:chromeOptions": options}}});
        let session = self.call("POST", "/session", Some(&asked))?;
        let id = session["sessionId"].as_str().ok_or("no session")?.to_owned();
        let browser = Browser { driver: self, id };
        let screen = json!({"width": width, "height": 900, "deviceScaleFactor": 1, "mobile": width < 600});
        browser.devtools("Emulation.setDeviceMetricsOverride", &screen)?;
        Ok(browser)
    }
}

/// One browser.
pub(crate) struct Browser<'d> {
    driver: &'d Driver,
    id: String,
}

impl Drop for Browser<'_> {
    fn drop(&mut self) {
        let _ = self.call("DELETE", "", None);
    }
}

impl Browser<'_> {
    fn call(&self, method: &str, path: &str, body: Option<&Value>) -> Tried<Value> {
        self.driver.call(method, &format!("/session/{}{path}", self.id), body)
    }

    fn devtools(&self, command: &str, parameters: &Value) -> Tried<Value> {
        self.call(
            "POST",
            "/goog/cdp/execute",
            Some(&json!({"cmd": command, "params": parameters})),
        )
    }

    pub(crate) fn go(&self, address: &str) -> Tried<()> {
        self.call("POST", "/url", Some(&json!({"url": address}))).map(drop)
    }

    /// Runs a script; its value.
    pub(crate) fn script(&self, code: &str, arguments: &[Value]) -> Tried<Value> {
        self.call(
            "POST",
            "/execute/sync",
            Some(&json!({"script": code, "args": arguments})),
        )
    }

    /// The first element, waited for.
    fn element(&self, css: &str) -> Tried<String> {
        let asked = json!({"using": "css selector", "value": css});
        let found = self.until(css, || Ok(self.call("POST", "/element", Some(&asked)).ok()))?;
        let id = found
            .as_object()
            .and_then(|found| found.values().next())
            .and_then(Value::as_str);
        Ok(id.ok_or("no element")?.to_owned())
    }

    /// Waits until something is there; `what` names it where it does not come.
    pub(crate) fn until<T>(&self, what: &str, look: impl Fn() -> Tried<Option<T>>) -> Tried<T> {
        let began = Instant::now();
        loop {
            if let Some(found) = look()? {
                return Ok(found);
            }
            if began.elapsed() > Duration::from_secs(40) {
                let page = self.script(
                    "return location.pathname + ': ' + document.body.innerText.slice(0, 1500)",
                    &[],
                )?;
                return Err(format!("{what} does not come; the page says {page}").into());
            }
            std::thread::sleep(Duration::from_millis(60));
        }
    }

    /// Waits for words on the page.
    pub(crate) fn reads(&self, words: &str) -> Tried<()> {
        let code = "return document.body.innerText.includes(arguments[0])";
        self.until(
            words,
            || Ok((self.script(code, &[json!(words)])? == true).then_some(())),
        )
    }

    /// What a page within the page says.
    pub(crate) fn words_in_frame(&self, css: &str) -> Tried<String> {
        let frame = json!({"element-6066-11e4-a52e-4f735466cecf": self.element(css)?});
        self.call("POST", "/frame", Some(&json!({"id": frame})))?;
        let body = self.element("body")?;
        let words = self.call("GET", &format!("/element/{body}/text"), None);
        self.call("POST", "/frame", Some(&json!({"id": null})))?;
        Ok(words?.as_str().unwrap_or_default().to_owned())
    }

    pub(crate) fn click(&self, css: &str) -> Tried<()> {
        let element = self.element(css)?;
        self.script(
            "arguments[0].scrollIntoView({block: 'center'})",
            &[json!({"element-6066-11e4-a52e-4f735466cecf": element})],
        )?;
        self.call("POST", &format!("/element/{element}/click"), Some(&json!({})))
            .map(drop)
    }

    /// Clicks the first button, link, summary or label that bears these words.
    pub(crate) fn press(&self, words: &str) -> Tried<()> {
        let code = "const found = [...document.querySelectorAll('button, a, summary, label')].find((one) => one.checkVisibility() && \
                    one.innerText.includes(arguments[0])); if (!found) return false; document.querySelectorAll('[data-pressed]')\
                    .forEach((one) => one.removeAttribute('data-pressed')); found.dataset.pressed = 'yes'; return true";
        self.until(
            words,
            || Ok((self.script(code, &[json!(words)])? == true).then_some(())),
        )?;
        self.click("[data-pressed]")
    }

    /// Types into a field, over what is there; a path into a file field chooses that file.
    pub(crate) fn fill(&self, css: &str, words: &str) -> Tried<()> {
        let element = self.element(css)?;
        let is_file = self.script(
            "return document.querySelector(arguments[0]).type === 'file'",
            &[json!(css)],
        )? == true;
        if !is_file {
            self.call("POST", &format!("/element/{element}/clear"), Some(&json!({})))?;
        }
        self.call(
            "POST",
            &format!("/element/{element}/value"),
            Some(&json!({"text": words})),
        )
        .map(drop)
    }

    /// Draws with the mouse or finger from the middle of one element to that of another.
    pub(crate) fn draw(&self, from: &str, to: &str) -> Tried<()> {
        self.script(
            "document.querySelector(arguments[0]).scrollIntoView({block: 'center'})",
            &[json!(from)],
        )?;
        let place = "const box = document.querySelector(arguments[0]).getBoundingClientRect(); return [box.x + box.width / 2, box.y + box.height / 2]";
        let at = |css: &str| -> Tried<(i64, i64)> {
            let found = self.script(place, &[json!(css)])?;
            let number = |k: usize| found[k].as_f64().map(|n| n.round() as i64).ok_or("no place");
            Ok((number(0)?, number(1)?))
        };
        let ((x, y), (to_x, to_y)) = (at(from)?, at(to)?);
        let actions = json!({"actions": [{"type": "pointer", "id": "hand", "parameters": {"pointerType": "mouse"}, "actions": [
            {"type": "pointerMove", "duration": 0, "x": x, "y": y}, {"type": "pointerDown", "button": 0},
            {"type": "pointerMove", "duration": 120, "x": to_x, "y": to_y}, {"type": "pointerUp", "button": 0}]}]});
        self.call("POST", "/actions", Some(&actions)).map(drop)
    }

    /// What the browser itself complained of since it was asked last: errors, and requests that failed.
    pub(crate) fn complaints(&self) -> Tried<Vec<String>> {
        let log = self.call("POST", "/se/log", Some(&json!({"type": "browser"})))?;
        let entries = log.as_array().cloned().unwrap_or_default();
        Ok(entries
            .iter()
            .filter(|entry| entry["level"] != "INFO")
            .map(|entry| entry["message"].to_string())
            .collect())
    }
}
