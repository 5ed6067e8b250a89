//! The frame of a page: head, policy, style, script, player.

use base64::{Engine, engine::general_purpose::STANDARD};
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("player.js");
/// Says that a page is one of ours, so that it may be written over.
pub(crate) const OURS: &str = "recte report";

/// What is in the frame.
pub(super) struct Frame<'a> {
    pub(super) title: &'a str,
    pub(super) header: Markup,
    pub(super) main: Markup,
    /// The sounds, and the parts that can be silenced.
    pub(super) sounds: Option<(String, &'a [(String, bool)])>,
}

/// The whole page.
pub(super) fn frame(frame: &Frame<'_>) -> String {
    let hash = |text: &str| format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text)));
    let script = frame.sounds.as_ref().map_or("'none'".to_owned(), |_| hash(SCRIPT));
    let policy = format!(
        "default-src 'none'; style-src {}; script-src {script}; base-uri 'none'; form-action 'none'",
        hash(STYLE)
    );
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta http-equiv="Content-Security-Policy" content=(policy);
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content=(OURS);
                meta name="color-scheme" content="light dark";
                title { (frame.title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                header { (frame.header) }
                main { (frame.main) }
                footer {
                    p {
                        "Read by Recte " (env!("CARGO_PKG_VERSION")) ". It measures and points; people judge."
                        span.screen { " Everything is in this page; it asks nothing of the network." }
                    }
                }
                @if let Some((sounds, parts)) = &frame.sounds {
                    (player(parts))
                    script type="application/json" id="sounds" { (PreEscaped(sounds)) }
                    script { (PreEscaped(SCRIPT)) }
                }
            }
        }
    };
    page.into_string()
}

fn player(parts: &[(String, bool)]) -> Markup {
    html! {
        div #player role="region" aria-label="Player" hidden {
            button type="button" data-stop { "■ Stop" }
            span role="status" data-status {}
            label {
                "Tempo "
                input type="range" min="30" max="170" step="5" value="100" data-tempo;
                " " span data-shown { "100 %" }
            }
            details {
                summary { "Parts" }
                div.parts {
                    @for (at, (name, _)) in parts.iter().enumerate() {
                        label { input type="checkbox" checked data-part=(at); " " (name) }
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_comes_from_outside() {
        let header = html! { h1 { "<b>" } };
        let text = frame(&Frame { title: "a & b", header, main: html! {}, sounds: None });
        assert!(text.contains("default-src 'none'") && text.contains("script-src 'none'"));
        assert!(text.contains("<title>a &amp; b</title>") && text.contains("&lt;b&gt;"));
        assert!(!text.contains("http://") && !text.contains("https://"));
    }
}
