//! The program with a folder open, as a process of its own, and plain requests to it.

use std::error::Error;
use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::Duration;

type Tried<T> = Result<T, Box<dyn Error>>;

/// A folder that is open; killed when it is dropped.
pub(crate) struct Open {
    pub(crate) process: Option<Child>,
    /// The first address, which lets its reader in.
    pub(crate) first: String,
    pub(crate) host: String,
}

impl Drop for Open {
    fn drop(&mut self) {
        if let Some(mut process) = self.process.take() {
            let _ = process.kill();
            let _ = process.wait();
        }
    }
}

/// What was answered.
#[derive(Debug)]
pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) head: String,
    pub(crate) body: String,
}

impl Open {
    pub(crate) fn start(folder: &Path, stop_at: Option<u64>) -> Tried<Self> {
        let mut command = Command::new(env!("CARGO_BIN_EXE_cullet"));
        command.arg("open").arg(folder).args(["--no-browser"]);
        if let Some(at) = stop_at {
            command.env("CULLET_STOP_AT", at.to_string());
        }
        let mut process = command
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()?;
        let mut line = String::new();
        BufReader::new(process.stdout.take().ok_or("no output")?).read_line(&mut line)?;
        let first = line
            .split("is open at ")
            .nth(1)
            .ok_or(format!("it says {line:?}"))?
            .trim()
            .to_owned();
        let host = first
            .trim_start_matches("http://")
            .split('/')
            .next()
            .unwrap_or_default()
            .to_owned();
        Ok(Self {
            process: Some(process),
            first,
            host,
        })
    }

    pub(crate) fn is_alive(&mut self) -> Tried<bool> {
        let process = self.process.as_mut().ok_or("the process was taken")?;
        Ok(process.try_wait()?.is_none())
    }

    pub(crate) fn id(&self) -> u32 {
        self.process.as_ref().map_or(0, Child::id)
    }

    /// The process, for whoever will kill it.
    pub(crate) fn take_process(&mut self) -> Option<Child> {
        self.process.take()
    }

    /// An address of it.
    pub(crate) fn at(&self, path: &str) -> String {
        format!("http://{}{path}", self.host)
    }

    /// Sends bytes as they are; nothing where the connection is closed without an answer.
    pub(crate) fn raw(&self, bytes: &[u8]) -> Tried<Option<Answer>> {
        let mut stream = TcpStream::connect(&self.host)?;
        stream.set_read_timeout(Some(Duration::from_secs(30)))?;
        // It may answer and close before everything is sent.
        let _ = stream.write_all(bytes);
        let mut answer = vec![];
        let _ = stream.read_to_end(&mut answer);
        let text = String::from_utf8_lossy(&answer).into_owned();
        let Some((head, body)) = text.split_once("\r\n\r\n") else {
            return Ok(None);
        };
        let status = head
            .split(' ')
            .nth(1)
            .and_then(|status| status.parse().ok())
            .ok_or("no status")?;
        Ok(Some(Answer {
            status,
            head: head.to_owned(),
            body: body.to_owned(),
        }))
    }

    /// The cookie of whoever opens the first address.
    pub(crate) fn cookie(&self) -> Tried<String> {
        let path = self.first.split_once(&self.host).map_or("/", |(_, path)| path);
        let head = format!(
            "GET {path} HTTP/1.1\r\nHost: {}\r\nConnection: close\r\n\r\n",
            self.host
        );
        let answer = self.raw(head.as_bytes())?.ok_or("no answer")?;
        let line = answer
            .head
            .lines()
            .find(|line| line.to_lowercase().starts_with("set-cookie:"))
            .ok_or("no cookie")?;
        for word in ["HttpOnly", "SameSite=Strict"] {
            assert!(line.contains(word), "{line}");
        }
        Ok(line
            .split_once(':')
            .map_or("", |(_, value)| value)
            .split(';')
            .next()
            .unwrap_or_default()
            .trim()
            .to_owned())
    }

    pub(crate) fn get(&self, path: &str, cookie: &str) -> Tried<Answer> {
        let head = format!(
            "GET {path} HTTP/1.1\r\nHost: {}\r\nCookie: {cookie}\r\nConnection: close\r\n\r\n",
            self.host
        );
        Ok(self.raw(head.as_bytes())?.ok_or("no answer")?)
    }

    /// Sends a form, as a page of the program does. Nothing where it is killed meanwhile.
    pub(crate) fn form(&self, path: &str, cookie: &str, form: &str) -> Tried<Option<Answer>> {
        let head = format!(
            "POST {path} HTTP/1.1\r\nHost: {host}\r\nOrigin: http://{host}\r\nCookie: {cookie}\r\nContent-Type: application/x-www-form-urlencoded\r\n\
             Content-Length: {}\r\nConnection: close\r\n\r\n{form}",
            form.len(),
            host = self.host
        );
        self.raw(head.as_bytes())
    }
}
