//! `book serve` answers on this machine's own address and nowhere else.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::{SocketAddr, TcpStream};
use std::process::{Child, Command, Stdio};

struct Server(Child);

impl Drop for Server {
    fn drop(&mut self) {
        // It may have ended already, which is as good.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn get(address: SocketAddr, path: &str) -> String {
    let mut stream = TcpStream::connect(address).unwrap();
    write!(
        stream,
        "GET {path} HTTP/1.1\r\nHost: {address}\r\nConnection: close\r\n\r\n"
    )
    .unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).unwrap();
    String::from_utf8_lossy(&answer).into_owned()
}

#[test]
fn the_book_is_served_to_this_machine() {
    let mut server = Server(
        Command::new(env!("CARGO_BIN_EXE_book"))
            .args(["serve", "--still", "--port", "0"])
            .stdout(Stdio::piped())
            .spawn()
            .unwrap(),
    );
    let mut line = String::new();
    BufReader::new(server.0.stdout.take().unwrap())
        .read_line(&mut line)
        .unwrap();
    let address: SocketAddr = line.trim().rsplit('/').next().unwrap().parse().unwrap();
    assert!(address.ip().is_loopback(), "{line}");

    let first = get(address, "/");
    assert!(first.starts_with("HTTP/1.1 200"), "{first}");
    assert!(first.contains("The question"), "{first}");
    for (path, kind) in [
        ("/series/worked.html", "text/html"),
        ("/theme/jigwise.css", "text/css"),
        ("/book.js", "text/javascript"),
        ("/favicon.svg", "image/svg+xml"),
    ] {
        let head = get(address, path).to_lowercase();
        let head = head.split("\r\n\r\n").next().unwrap();
        assert!(
            head.contains(&format!("content-type: {kind}")),
            "{path}: {head}"
        );
    }
    assert!(get(address, "/nowhere.html").starts_with("HTTP/1.1 404"));
    assert!(get(address, "/../Cargo.toml").starts_with("HTTP/1.1 4"));
}
