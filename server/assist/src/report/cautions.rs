//! Where something could hurt a player or singer: the usual caution, and deference to those who know the body.
//!
//! The wording and its sources: long loud or high playing, repeated motion, stretches and strain of the voice are the usual
//! cautions of trade books (from memory); hearing: NIOSH, Publication 98-126 (85 dBA over eight hours, half the time for
//! each 3 dB more).

use super::remarks::Remark;
use recte_review::Part;
use recte_score::texture::Form;
use recte_theory::instruments::Family;

/// A caution.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Caution {
    /// What is written.
    pub what: String,
    /// What is usually advised.
    pub advice: &'static str,
    /// The bars, by index.
    pub bars: Vec<u32>,
    /// The voice, by index, if it is about one.
    pub voice: Option<usize>,
}

/// Said wherever there is a caution.
pub const DEFERENCE: &str = "Pain, numbness, hoarseness, ringing ears or dizziness are matters for a doctor, laryngologist, \
    audiologist or physiotherapist, not for this page. The figures are planning figures, not medical limits, and bodies differ.";

const VOICE: &str = "That is long or high for most singers. Ask the singer or teacher, or add rests or a lower alternative.";
const LIPS: &str = "Long loud or high playing tires the lip and the muscles of the face and can injure them. Ask the player or \
    teacher, or add rests, an octave lower, or a cue in another part.";
const HANDS: &str = "Wide stretches, fast repeated motion and long passages without rest can bring or worsen overuse pain. Ask \
    the player or teacher, or add rests, a lighter voicing, or an ossia.";
const BREATH: &str = "Ask the player or singer where to breathe, or add a rest; circular breathing needs a player who already does it.";
const EARS: &str = "Loud music can damage hearing: the usual occupational limit is 85 dBA averaged over eight hours, halved in \
    time for each 3 dB more, and ensembles can pass it, most of all near percussion, piccolo and brass. Ask the conductor \
    about seating, rests and protection.";

/// Rules whose remarks may be about what could hurt.
const RULES: [&str; 7] =
    ["tessitura", "endurance", "extreme-register", "breath", "pace", "hand-span", "static-layer"];
/// Of stops and chords only what asks for a wide stretch.
const STRETCHES: [&str; 2] = ["multiple-stop", "fretted-chord"];

/// Whether what a rule is about could hurt.
pub(super) fn could_hurt(rule: &str, message: &str) -> bool {
    RULES.contains(&rule) || STRETCHES.contains(&rule) && message.contains("hand reaches")
}

/// What is added where the remark itself says whom to ask.
const MORE: &str = "Rests, a lower alternative or a cue in another part would help; who plays or sings it decides, with the teacher or conductor.";

/// The advice for a remark, by who plays it.
fn advice(rule: &str, message: &str, family: Option<Family>) -> &'static str {
    let blown = matches!(family, Some(Family::Woodwind | Family::Brass));
    match rule {
        _ if message.contains("ask the") => MORE,
        _ if family == Some(Family::Voice) => VOICE,
        "breath" => BREATH,
        "endurance" => LIPS,
        "extreme-register" | "static-layer" if blown => LIPS,
        _ => HANDS,
    }
}

/// A level of fortissimo, on the scale of the curves.
const LOUD: f64 = 7.0;
/// So many bars of it are told of (from memory, no source).
const LOUD_BARS: usize = 16;

/// The cautions of a tune, each rule and part once, in the order of their bars.
pub(super) fn cautions(remarks: &[Remark], parts: &[Part<'_>], form: &Form) -> Vec<Caution> {
    let mut all: Vec<(&str, Caution)> = Vec::new();
    for remark in remarks.iter().filter(|remark| remark.could_hurt) {
        let Some((from, to)) = remark.bars else { continue };
        let own = |part: &&Part<'_>| remark.voice.is_some_and(|v| part.voices.contains(&v));
        let family = parts.iter().find(own).and_then(|part| part.instrument).map(|i| i.family);
        // A bow changes where it must, and a figure on strings or keys is a matter of listening.
        let harmless = matches!(family, Some(Family::Strings)) && remark.rule == "breath"
            || matches!(family, Some(Family::Keyboard | Family::Percussion))
                && remark.rule == "extreme-register";
        if harmless {
            continue;
        }
        let same =
            all.iter_mut().find(|(rule, one)| *rule == remark.rule && one.voice == remark.voice);
        match same {
            Some((_, one)) => one.bars.extend(from..=to),
            None => all.push((
                remark.rule,
                Caution {
                    what: remark.message.clone(),
                    advice: advice(remark.rule, &remark.message, family),
                    bars: (from..=to).collect(),
                    voice: remark.voice,
                },
            )),
        }
    }
    let loud = |(_, level): &(usize, &Option<f64>)| level.is_some_and(|level| level >= LOUD);
    let loud: Vec<u32> =
        form.curves.dynamic.iter().enumerate().filter(loud).map(|(bar, _)| bar as u32).collect();
    if loud.len() >= LOUD_BARS {
        let what = format!("{} bars are fortissimo or louder.", loud.len());
        all.push(("", Caution { what, advice: EARS, bars: loud, voice: None }));
    }
    let mut all: Vec<Caution> = all.into_iter().map(|(_, one)| one).collect();
    all.iter_mut().for_each(|one| {
        one.bars.sort_unstable();
        one.bars.dedup();
    });
    all.sort_by_key(|one| one.bars.first().copied());
    all
}
