//! Serving over the home network, as at a terminal; never beyond this computer here.

use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};

fn command(folder: &Path, args: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_whelpward"));
    command.args(args).env("WHELPWARD_DATA", folder).env_remove("WHELPWARD_DATABASE");
    command
}

fn set_password(folder: &Path, typed: &str) -> Output {
    let mut child = command(folder, &["password"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(format!("{typed}\n").as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

/// Ends the server when the test ends, however it ends.
struct Running(Child);

impl Drop for Running {
    fn drop(&mut self) {
        // It may have ended already.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

#[test]
fn it_does_not_start_over_the_network_without_a_password() {
    let folder = tempfile::tempdir().unwrap();
    let refused = command(folder.path(), &["serve", "--lan", "--bind", "127.0.0.1", "--port", "0"]).output().unwrap();
    assert_eq!(refused.status.code(), Some(2));
    let text = String::from_utf8_lossy(&refused.stderr);
    assert!(text.contains("no password is set") && text.contains("whelpward password"), "{text}");
    let short = set_password(folder.path(), "short");
    assert_eq!(short.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&short.stderr).contains("at least 10"), "{short:?}");
    // The plain start takes no address, so that nobody opens it to others by mistake.
    let plain = command(folder.path(), &["serve", "--bind", "127.0.0.1"]).output().unwrap();
    assert_eq!(plain.status.code(), Some(2));
    // Beyond the home network nothing goes over plain http.
    let open = command(folder.path(), &["serve", "--lan", "--bind", "127.0.0.1", "--allow-public"]).output().unwrap();
    assert_eq!(open.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&open.stderr).contains("--https"), "{open:?}");
}

#[test]
fn with_a_password_it_prints_where_phones_find_it_and_lets_nobody_in_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let set = set_password(folder.path(), "four plain words here");
    assert!(set.status.success(), "{set:?}");
    let mut child = command(
        folder.path(),
        &[
            ["serve", "--lan", "--bind", "127.0.0.1", "--port", "0", "--host-name", "Whelping-Room"].as_slice(),
            &["--https", "--https-port", "0"],
        ]
        .concat(),
    )
    .stdout(Stdio::piped())
    .spawn()
    .unwrap();
    let stdout = child.stdout.take().unwrap();
    let _running = Running(child);
    let mut told = String::new();
    for line in BufReader::new(stdout).lines() {
        let line = line.unwrap();
        told.push_str(&format!("{line}\n"));
        if line.starts_with("Ctrl-C") {
            break;
        }
    }
    assert!(told.lines().all(|l| l.chars().count() <= 80), "{told}");
    assert!(told.contains("▄") || told.contains("▀"), "a picture for the camera: {told}");
    let host = told.split("http://").nth(1).unwrap().split('/').next().unwrap().to_owned();
    assert!(host.starts_with("127.0.0.1:"), "{told}");
    let port = host.rsplit(':').next().unwrap();
    assert!(told.contains("With a padlock: https://127.0.0.1:"), "{told}");
    let pairs = told.lines().filter(|l| l.starts_with("    ") && !l.contains('/')).flat_map(|l| l.trim().split(':'));
    assert_eq!(pairs.filter(|p| p.len() == 2).count(), 32, "a fingerprint to compare: {told}");
    assert!(told.contains(&format!("http://whelping-room:{port}/")), "{told}");
    let ask = |name: &str, path: &str| {
        let mut stream = TcpStream::connect(&host).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: {name}\r\nConnection: close\r\n\r\n").unwrap();
        let mut text = String::new();
        stream.read_to_string(&mut text).unwrap();
        text
    };
    let first = ask(&host, "/");
    assert!(first.starts_with("HTTP/1.1 303") && first.contains("location: /sign-in"), "{first}");
    assert!(ask(&format!("whelping-room:{port}"), "/sign-in").starts_with("HTTP/1.1 200"));
    assert!(ask(&format!("elsewhere:{port}"), "/sign-in").starts_with("HTTP/1.1 421"));
}
