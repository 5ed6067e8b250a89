//! A small client of the language server, over its standard input and output.

use serde_json::{Value, json};
use std::collections::VecDeque;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, ChildStdin, Command, Stdio};
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::time::{Duration, Instant};

/// So long a test waits for the server.
pub const PATIENCE: Duration = Duration::from_secs(60);

/// A running server and what it has said.
pub struct Client {
    child: Child,
    input: Option<ChildStdin>,
    messages: Receiver<Value>,
    kept: VecDeque<Value>,
    next: i64,
    /// Whether questions of the server are answered.
    pub answers: bool,
}

impl Client {
    /// Starts a server; nothing is said yet.
    pub fn start() -> Client {
        let mut child = Command::new(super::recte())
            .arg("serve")
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the server starts");
        let output = child.stdout.take().expect("it has an output");
        let input = child.stdin.take();
        let (sender, messages) = channel();
        std::thread::spawn(move || {
            let mut output = BufReader::new(output);
            while let Some(message) = read(&mut output) {
                if sender.send(message).is_err() {
                    return;
                }
            }
        });
        Client { child, input, messages, kept: VecDeque::new(), next: 0, answers: true }
    }

    /// Starts a server and introduces itself with these capabilities and options.
    pub fn introduced(capabilities: Value, options: Value) -> (Client, Value) {
        let mut client = Client::start();
        let result = client.request(
            "initialize",
            json!({ "processId": null, "rootUri": null, "capabilities": capabilities, "initializationOptions": options }),
        );
        client.notify("initialized", json!({}));
        (client, result)
    }

    /// Sends a notification.
    pub fn notify(&mut self, method: &str, params: Value) {
        self.send(&json!({ "jsonrpc": "2.0", "method": method, "params": params }));
    }

    /// Sends a request and waits for its result.
    pub fn request(&mut self, method: &str, params: Value) -> Value {
        self.next += 1;
        let id = self.next;
        self.send(&json!({ "jsonrpc": "2.0", "id": id, "method": method, "params": params }));
        let answer = self.wait(|message| message["id"] == id && message.get("method").is_none());
        assert!(answer.get("error").is_none(), "{method}: {answer}");
        answer["result"].clone()
    }

    /// Opens a document.
    pub fn open(&mut self, uri: &str, text: &str) {
        let document = json!({ "uri": uri, "languageId": "abc", "version": 1, "text": text });
        self.notify("textDocument/didOpen", json!({ "textDocument": document }));
    }

    /// Changes a document; `changes` as the protocol has them.
    pub fn change(&mut self, uri: &str, version: i32, changes: Value) {
        let document = json!({ "uri": uri, "version": version });
        let params = json!({ "textDocument": document, "contentChanges": changes });
        self.notify("textDocument/didChange", params);
    }

    /// The remarks published for a version of a document, waiting for them.
    pub fn remarks(&mut self, uri: &str, version: Option<i32>) -> Vec<Value> {
        let published = self.wait(|message| {
            message["method"] == "textDocument/publishDiagnostics"
                && message["params"]["uri"] == uri
                && version.is_none_or(|version| message["params"]["version"] == version)
        });
        published["params"]["diagnostics"].as_array().expect("a list").clone()
    }

    /// The next message that fits. Questions of the server are answered on the way, if this client answers.
    pub fn wait(&mut self, fits: impl Fn(&Value) -> bool) -> Value {
        let end = Instant::now() + PATIENCE;
        if let Some(place) = self.kept.iter().position(&fits) {
            return self.kept.remove(place).expect("it was just found");
        }
        loop {
            let left = end.saturating_duration_since(Instant::now());
            let message = match self.messages.recv_timeout(left) {
                Ok(message) => message,
                Err(RecvTimeoutError::Timeout) => panic!("no answer in {PATIENCE:?}"),
                Err(RecvTimeoutError::Disconnected) => panic!("the server has gone"),
            };
            if let (Some(id), Some(_)) = (message.get("id"), message.get("method")) {
                if self.answers {
                    let answer = json!({ "jsonrpc": "2.0", "id": id, "result": null });
                    self.send(&answer);
                }
            } else if fits(&message) {
                return message;
            } else {
                self.kept.push_back(message);
            }
        }
    }

    /// Sends a message whose reader may be gone.
    pub fn send(&mut self, message: &Value) {
        let body = message.to_string();
        let framed = format!("Content-Length: {}\r\n\r\n{body}", body.len());
        self.send_bytes(framed.as_bytes());
    }

    /// Sends any bytes.
    pub fn send_bytes(&mut self, bytes: &[u8]) {
        if let Some(input) = &mut self.input {
            let _ = input.write_all(bytes).and_then(|()| input.flush());
        }
    }

    /// Closes the server's input, as a client that dies does.
    pub fn hang_up(&mut self) {
        self.input = None;
    }

    /// Waits until the process ends, and says how and after how long.
    pub fn ended(&mut self) -> (Option<i32>, Duration) {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            if let Some(status) = self.child.try_wait().expect("the process can be asked") {
                return (status.code(), start.elapsed());
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        panic!("the server has not ended");
    }
}

impl Drop for Client {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}

fn read(output: &mut impl BufRead) -> Option<Value> {
    let mut length = None;
    loop {
        let mut line = String::new();
        if output.read_line(&mut line).ok()? == 0 {
            return None;
        }
        if line.trim().is_empty() {
            break;
        }
        if let Some(value) = line.strip_prefix("Content-Length:") {
            length = value.trim().parse().ok();
        }
    }
    let mut body = vec![0; length?];
    output.read_exact(&mut body).ok()?;
    serde_json::from_slice(&body).ok()
}
