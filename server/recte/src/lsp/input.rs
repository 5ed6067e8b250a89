//! Standard input, watched for the end.
//!
//! The library stops reading when handlers are busy or the client does not listen, and would not notice `exit`
//! then. So a thread of its own reads, passes everything on, and sees to it that the process ends.

use serde::Deserialize;
use std::io::{Read, stdin};
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicI32, Ordering};
use std::task::{Context, Poll};
use std::time::Duration;
use tokio::io::{AsyncRead, ReadBuf};
use tokio::sync::mpsc;

/// What has been said already may still go out in this time.
const GRACE: Duration = Duration::from_secs(2);
/// `exit` and `shutdown` are short.
const SHORT: usize = 512;

/// What was read, for the library.
pub(super) struct Input {
    chunks: mpsc::UnboundedReceiver<Vec<u8>>,
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
    let (sender, chunks) = mpsc::unbounded_channel();
    let ending = Ending::default();
    let code = ending.clone();
    std::thread::spawn(move || {
        let mut watcher = Watcher::default();
        let mut buffer = vec![0; 1 << 16];
        let mut exit = false;
        while !exit {
            let Ok(count) = stdin().lock().read(&mut buffer) else { break };
            exit = watcher.take(&buffer[..count]);
            if count == 0 || sender.send(buffer[..count].to_vec()).is_err() {
                break;
            }
        }
        code.0.store(i32::from(exit && !watcher.shut), Ordering::SeqCst);
        drop(sender);
        std::thread::sleep(GRACE);
        std::process::exit(code.code());
    });
    (Input { chunks, rest: Vec::new(), at: 0 }, ending)
}

impl AsyncRead for Input {
    fn poll_read(
        mut self: Pin<&mut Self>,
        context: &mut Context<'_>,
        buffer: &mut ReadBuf<'_>,
    ) -> Poll<std::io::Result<()>> {
        if self.at == self.rest.len() {
            match self.chunks.poll_recv(context) {
                Poll::Ready(Some(chunk)) => (self.rest, self.at) = (chunk, 0),
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

/// Follows the messages just closely enough to know `shutdown` and `exit`.
#[derive(Default)]
struct Watcher {
    header: Vec<u8>,
    /// Bytes of the body still to come; none while a header is read.
    left: Option<usize>,
    body: Vec<u8>,
    keeps: bool,
    shut: bool,
}

#[derive(Deserialize)]
struct Method {
    method: Option<String>,
}

impl Watcher {
    /// Whether the client has said `exit`.
    fn take(&mut self, mut bytes: &[u8]) -> bool {
        let mut exit = false;
        while !bytes.is_empty() || self.left == Some(0) {
            bytes = match self.left {
                None => self.take_header(bytes),
                Some(left) => {
                    let (now, later) = bytes.split_at(left.min(bytes.len()));
                    if self.keeps {
                        self.body.extend_from_slice(now);
                    }
                    self.left = Some(left - now.len());
                    if left == now.len() {
                        self.left = None;
                        exit |= self.message();
                    }
                    later
                }
            };
        }
        exit
    }

    fn take_header<'b>(&mut self, bytes: &'b [u8]) -> &'b [u8] {
        for (index, byte) in bytes.iter().enumerate() {
            self.header.push(*byte);
            if self.header.ends_with(b"\r\n\r\n") {
                let header = String::from_utf8_lossy(&self.header).to_ascii_lowercase();
                let length = header.lines().find_map(|line| line.strip_prefix("content-length:"));
                let length = length.and_then(|length| length.trim().parse().ok());
                self.header.clear();
                self.body.clear();
                self.left = length;
                self.keeps = length.is_some_and(|length| length <= SHORT);
                return &bytes[index + 1..];
            }
            if self.header.len() > 1 << 16 {
                self.header.drain(..1 << 15);
            }
        }
        &[]
    }

    fn message(&mut self) -> bool {
        let method = serde_json::from_slice(&self.body).ok().and_then(|m: Method| m.method);
        self.body.clear();
        self.shut |= method.as_deref() == Some("shutdown");
        method.as_deref() == Some("exit")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn framed(body: &str) -> Vec<u8> {
        format!("Content-Length: {}\r\n\r\n{body}", body.len()).into_bytes()
    }

    #[test]
    fn exit_is_seen_however_the_bytes_are_cut() {
        let long = format!("{{\"method\":\"x\",\"text\":\"{}\"}}", "exit".repeat(400));
        let messages =
            [framed(&long), framed(""), framed("{\"method\":\"shutdown\"}"), framed("{\"method\":\"exit\"}")];
        let bytes = messages.concat();
        for size in [1, 2, 7, 100, bytes.len()] {
            let mut watcher = Watcher::default();
            let seen: Vec<bool> = bytes.chunks(size).map(|chunk| watcher.take(chunk)).collect();
            assert_eq!(seen.iter().position(|exit| *exit), Some(seen.len() - 1), "{size}");
            assert!(watcher.shut);
        }
    }

    #[test]
    fn exit_inside_other_words_is_not_exit() {
        let mut watcher = Watcher::default();
        assert!(!watcher.take(&framed("{\"method\":\"m\",\"params\":{\"method\":\"exit\"}}")));
        assert!(!watcher.take(b"exit\r\n\r\n{\"method\":\"exit\"}"));
    }
}
