//! `cullet open`: serves a folder to a browser.

use crate::arguments::OpenArguments;
use crate::{Exit, Session};
use cullet_job::{Finding, Findings};
use cullet_server::{Options, Server};
use std::net::{IpAddr, Ipv4Addr};
use std::process::{Command, Stdio};

pub(super) fn open(asked: &OpenArguments, session: &mut Session<'_>) -> Exit {
    let address = asked.listen.unwrap_or(IpAddr::V4(Ipv4Addr::LOCALHOST));
    let mut findings = vec![];
    if !asked.folder.is_dir() {
        let found = if asked.folder.exists() { "a file" } else { "nothing" };
        let what = asked.folder.display().to_string();
        findings.push(finding(
            &what,
            "folder to open",
            found,
            "a folder",
            "Check the name, or make the folder first: it may be empty.",
        ));
    }
    if !address.is_loopback() && asked.password.is_none() {
        findings.push(finding(
            "command line",
            "--listen",
            &address.to_string(),
            "a --password with an address that other machines reach",
            "Give a password, or leave --listen out: then only this machine is answered.",
        ));
    }
    if !findings.is_empty() {
        session.say(&Findings(findings));
        return Exit::BadInput;
    }
    let options = Options {
        folder: asked.folder.clone(),
        address,
        port: asked.port,
        password: asked.password.clone(),
        who: session.stamp().who,
    };
    let server = match Server::open(&options) {
        Ok(server) => server,
        Err(error) => {
            let at = format!("{address}, port {}", asked.port);
            let hint = "Choose another port, or leave --port out for any that is free.";
            session.say(&finding(
                "command line",
                "--port",
                &format!("{at}: {error}"),
                "an address that is free",
                hint,
            ));
            return Exit::BadInput;
        }
    };
    let first = server.address();
    session.print(&format!(
        "{} is open at {first}\nCtrl-C ends it.\n",
        asked.folder.display()
    ));
    if !asked.no_browser {
        show(&first);
    }
    match server.run(session.cancel()) {
        Ok(()) => Exit::Done,
        Err(error) => {
            session.say(&format_args!("the page could not be served ({error})"));
            Exit::CannotWrite
        }
    }
}

/// Has the usual browser show an address. Where there is none, the address was printed.
fn show(address: &str) {
    let mut command = if cfg!(target_os = "windows") {
        let mut command = Command::new("rundll32");
        command.arg("url.dll,FileProtocolHandler");
        command
    } else if cfg!(target_os = "macos") {
        Command::new("open")
    } else {
        Command::new("xdg-open")
    };
    let quiet = command
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    let _ = quiet.spawn();
}

fn finding(file: &str, place: &str, found: &str, expected: &str, hint: &str) -> Finding {
    Finding {
        file: file.into(),
        place: place.into(),
        found: found.into(),
        expected: expected.into(),
        hint: hint.into(),
    }
}
