//! Standard input, sifted and watched for the end.
//!
//! The library stops for good at the first message it cannot read, and does not read at all while handlers are
//! busy or the client does not listen, so that it would miss `exit`. So a thread of its own reads, passes on the
//! messages that are messages, and sees to it that the process ends.

use crate::files::complain;
use serde_json::Value;
use std::io::{Read, stdin};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicI32, Ordering};
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, ReadBuf};
use tokio::sync::mpsc;
use tower_lsp::jsonrpc::{Request, Response};

/// What has been said already may still go out in this time.
const GRACE: Duration = Duration::from_secs(2);
/// What claims to be longer is no message.
const LONGEST: usize = 1 << 30;
/// A header is short.
const LONGEST_HEADER: usize = 1 << 14;

/// What was read, for the library.
pub(super) struct Input {
    messages: mpsc::UnboundedReceiver<Vec<u8>>,
    rest: Vec<u8>,
    at: usize,
}

/// With which code to end.
#[derive(Clone, Default)]
pub(super) struct Ending(Arc<AtomicI32>);

impl Ending {
    /// 0 after `shutdown` or when the input just ended, 1 for an `exit` out of turn.
    pub(super) fn code(&self) -> i32 {
        self.0.load(Ordering::SeqCst)
    }
}

/// Starts reading.
pub(super) fn watch() -> (Input, Ending) {
    let (sender, messages) = mpsc::unbounded_channel();
    let ending = Ending::default();
    let code = ending.clone();
    std::thread::spawn(move || {
        let mut sieve = Sieve::default();
        let mut buffer = vec![0; 1 << 16];
        while !sieve.exit {
            let Ok(count @ 1..) = stdin().lock().read(&mut buffer) else { break };
            let mut gone = false;
            sieve.take(&buffer[..count], &mut |message| gone |= sender.send(message).is_err());
            if gone {
                break;
            }
        }
        code.0.store(i32::from(sieve.exit && !sieve.shut), Ordering::SeqCst);
        drop(sender);
        std::thread::sleep(GRACE);
        std::process::exit(code.code());
    });
    (Input { messages, rest: Vec::new(), at: 0 }, ending)
}

impl AsyncRead for Input {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<std::io::Result<()>> {
        if self.at == self.rest.len() {
            match self.messages.poll_recv(context) {
                Poll::Ready(Some(message)) => (self.rest, self.at) = (message, 0),
                Poll::Ready(None) => return Poll::Ready(Ok(())),
                Poll::Pending => return Poll::Pending,
            }
        }
        let count = buffer.remaining().min(self.rest.len() - self.at);
        buffer.put_slice(&self.rest[self.at..self.at + count]);
        self.at += count;
        Poll::Ready(Ok(()))
    }
}

/// Cuts the input into messages.
#[derive(Default)]
struct Sieve {
    header: Vec<u8>,
    body: Vec<u8>,
    /// Bytes of the body still to come; none while a header is read.
    left: Option<usize>,
    /// `shutdown` has been said.
    shut: bool,
    /// `exit` has been said.
    exit: bool,
}

impl Sieve {
    fn take(&mut self, mut bytes: &[u8], pass: &mut dyn FnMut(Vec<u8>)) {
        while !bytes.is_empty() {
            bytes = match self.left {
                None => self.take_header(bytes),
                Some(left) => {
                    let (now, later) = bytes.split_at(left.min(bytes.len()));
                    self.body.extend_from_slice(now);
                    self.left = Some(left - now.len());
                    later
                }
            };
            if self.left == Some(0) {
                self.left = None;
                let body = std::mem::take(&mut self.body);
                if let Some(body) = self.message(body) {
                    let head = format!("Content-Length: {}\r\n\r\n", body.len());
                    pass([head.as_bytes(), &body].concat());
                }
            }
        }
    }

    fn take_header<'b>(&mut self, bytes: &'b [u8]) -> &'b [u8] {
        for (index, byte) in bytes.iter().enumerate() {
            self.header.push(*byte);
            if self.header.ends_with(b"\r\n\r\n") {
                let header = String::from_utf8_lossy(&self.header).to_ascii_lowercase();
                let length = header.lines().find_map(|line| line.strip_prefix("content-length:"));
                let length = length.and_then(|length| length.trim().parse().ok());
                self.left = length.filter(|length| *length <= LONGEST);
                self.header.clear();
                return &bytes[index + 1..];
            }
            if self.header.len() > LONGEST_HEADER {
                self.header.drain(..LONGEST_HEADER / 2);
            }
        }
        &[]
    }

    /// The body to pass on, if it is a message.
    fn message(&mut self, body: Vec<u8>) -> Option<Vec<u8>> {
        let Ok(request) = serde_json::from_slice::<Request>(&body) else {
            if serde_json::from_slice::<Response>(&body).is_ok() {
                return Some(body);
            }
            complain("A message that cannot be read was left out.");
            return None;
        };
        self.shut |= request.method() == "shutdown";
        self.exit |= request.method() == "exit";
        // Some clients say `null` where nothing has to be said; the library would not have it.
        if request.params() == Some(&Value::Null) {
            let mut plain: Value = serde_json::from_slice(&body).ok()?;
            plain.as_object_mut()?.remove("params");
            return serde_json::to_vec(&plain).ok();
        }
        Some(body)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn framed(body: &str) -> Vec<u8> {
        format!("Content-Length: {}\r\n\r\n{body}", body.len()).into_bytes()
    }

    fn request(method: &str, rest: &str) -> String {
        format!("{{\"jsonrpc\":\"2.0\",\"method\":\"{method}\"{rest}}}")
    }

    /// What passes, in pieces of a size.
    fn passed(bytes: &[u8], size: usize) -> (Sieve, Vec<Vec<u8>>) {
        let (mut sieve, mut passed) = (Sieve::default(), Vec::new());
        for chunk in bytes.chunks(size) {
            sieve.take(chunk, &mut |message| passed.push(message));
        }
        (sieve, passed)
    }

    #[test]
    fn messages_pass_however_the_bytes_are_cut() {
        let long = request("x", &format!(",\"params\":{{\"text\":\"{}\"}}", "exit".repeat(400)));
        let answer = "{\"jsonrpc\":\"2.0\",\"id\":1,\"result\":null}";
        let messages = [&long, answer, &request("shutdown", ",\"id\":2"), &request("exit", "")];
        let messages = messages.map(framed);
        let bytes = messages.concat();
        for size in [1, 2, 7, 100, bytes.len()] {
            let (sieve, passed) = passed(&bytes, size);
            assert_eq!(passed, messages, "{size}");
            assert!(sieve.shut && sieve.exit);
        }
    }

    #[test]
    fn what_is_no_message_is_left_out() {
        let good = framed(&request("x", ""));
        let bad = ["{{{{{", "", "[1]", "{\"a\":1}", "\u{0}"].map(framed).concat();
        let noise = b"noise\r\n\r\n".to_vec();
        let bytes = [noise, good.clone(), bad, good.clone()].concat();
        let (sieve, passed) = passed(&bytes, 5);
        assert_eq!(passed, [good.clone(), good]);
        assert!(!sieve.exit);
    }

    #[test]
    fn null_for_nothing_is_taken_away() {
        let (sieve, passed) = passed(&framed(&request("shutdown", ",\"id\":1,\"params\":null")), 9);
        assert!(sieve.shut);
        assert!(!String::from_utf8_lossy(&passed[0]).contains("params"));
    }

    #[test]
    fn exit_inside_other_words_is_not_exit() {
        let inside = request("m", ",\"params\":{\"method\":\"exit\"}");
        assert!(!passed(&framed(&inside), 3).0.exit);
    }
}
