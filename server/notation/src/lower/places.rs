//! Which field may stand where, and in which order (abc standard v2.1, 3 and 3.1.1 to 3.1.14).

use super::body::Reader;
use crate::problem::ProblemKind;
use recte_score::Span;

/// Where a field stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Place {
    Header,
    Body,
    Inline,
}

/// H header, B body line, I inline; empty for a field that the standard does not have.
fn allowed(name: char) -> &'static str {
    match name {
        'A' | 'B' | 'C' | 'D' | 'F' | 'G' | 'H' | 'O' | 'S' | 'Z' | 'X' => "H",
        'N' | 'R' | 'I' | 'L' | 'M' | 'm' | 'U' | 'r' | 'K' | 'P' | 'Q' | 'V' => "HBI",
        'T' | 'W' => "HB",
        'w' | 's' => "B",
        _ => "",
    }
}

impl Reader<'_> {
    /// Says so where a field is unknown, or stands where the standard has no place for it.
    pub(crate) fn check_place(&mut self, name: char, place: Place, span: Span) {
        let here = match place {
            Place::Header => 'H',
            Place::Body => 'B',
            Place::Inline => 'I',
        };
        if name == '+' {
            let message = "“+:” continues the field above it, and there is none.";
            self.report(ProblemKind::MisplacedField, span, message);
        } else if name == 'E' {
            if self.file.strict {
                self.report(
                    ProblemKind::Deprecated,
                    span,
                    "E: (spacing) is out of use and does nothing.",
                );
            }
        } else if allowed(name).is_empty() {
            self.report(
                ProblemKind::UnknownField,
                span,
                format!("“{name}:” is no field of the standard; it is passed over."),
            );
        } else if !allowed(name).contains(here) {
            let message = match (name, place) {
                ('w', Place::Header) => {
                    "“w:” holds words for the notes above it; the header has no notes yet."
                        .to_owned()
                }
                ('s', Place::Header) => {
                    "“s:” holds signs for the notes above it; the header has no notes yet."
                        .to_owned()
                }
                ('X', _) => "“X:” begins a tune and stands first in its header.".to_owned(),
                (_, Place::Header) => format!("“{name}:” has no place in the header."),
                (_, Place::Body) => format!("“{name}:” belongs in the header, above K:."),
                (_, Place::Inline) => {
                    format!("“{name}:” does not stand inside a line; it takes a line of its own.")
                }
            };
            self.report(ProblemKind::MisplacedField, span, message);
        }
        if name == 'A' && self.file.strict && place == Place::Header {
            self.report(
                ProblemKind::Deprecated,
                span,
                "A: (area) is out of use; O: holds the origin.",
            );
        }
    }

    /// The order of a header's first fields, once it is whole.
    pub(crate) fn check_order(&mut self) {
        let fields = std::mem::take(&mut self.header_fields);
        let Some(&(_, first)) = fields.first() else { return };
        let has = |name| fields.iter().any(|(known, _)| *known == name);
        let strict = self.file.strict;
        if !has('X') && !has('K') {
            if strict
                && !self.file.heads_file
                && self.tune.voices.iter().all(|voice| voice.events.is_empty())
            {
                let message = "Fields between tunes no longer hold for what follows; only the head of the file does.";
                self.report(ProblemKind::Deprecated, first, message);
            }
            return;
        }
        if strict && !has('X') {
            let message = "A tune begins with its reference number, as in X:1.";
            self.report(ProblemKind::Deprecated, first, message);
        }
        if !has('K') {
            let message = "This tune has no K:, which gives its key and ends its header.";
            self.report(ProblemKind::HeaderOrder, first, message);
        }
        let title = fields.iter().position(|(name, _)| *name == 'T');
        match title {
            Some(place) if strict && has('X') && place != 1 => {
                let message = "The title comes right after X: in a header.";
                self.report(ProblemKind::HeaderOrder, fields[place].1, message);
            }
            None if strict => {
                let message = "A header has a title, T:, right after X:; it may be empty.";
                self.report(ProblemKind::HeaderOrder, first, message);
            }
            _ => {}
        }
    }
}
