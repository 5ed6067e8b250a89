use super::*;
use recte_notation::lower;

/// Every note that begins or ends: track, tick, on or off, key.
fn read(bytes: &[u8]) -> Vec<(usize, u32, bool, u8)> {
    let all = events(bytes).into_iter().filter_map(|(track, now, kind)| match kind {
        TrackEventKind::Midi { message: MidiMessage::NoteOn { key, .. }, .. } => {
            Some((track, now, true, key.as_int()))
        }
        TrackEventKind::Midi { message: MidiMessage::NoteOff { key, .. }, .. } => {
            Some((track, now, false, key.as_int()))
        }
        _ => None,
    });
    all.collect()
}

fn events(bytes: &[u8]) -> Vec<(usize, u32, TrackEventKind<'_>)> {
    let mut found = Vec::new();
    for (number, track) in Smf::parse(bytes).unwrap().tracks.into_iter().enumerate() {
        let mut now = 0;
        for event in track {
            now += event.delta.as_int();
            found.push((number, now, event.kind));
        }
    }
    found
}

fn bytes(text: &str) -> Vec<u8> {
    midi_file(&lower(text).tune).unwrap().bytes
}

fn sounds(text: &str) -> Vec<(usize, u32, bool, u8)> {
    read(&bytes(text))
}

/// Where notes begin, in sixty-fourths, and their keys.
fn struck(music: &str) -> Vec<(u32, u8)> {
    let begins = sounds(&format!("X:1\nL:1/4\nM:4/4\nK:C\n{music}\n")).into_iter().filter(|s| s.2);
    begins.map(|(_, tick, _, key)| (tick * 16 / u32::from(TICKS), key)).collect()
}

fn velocities(music: &str) -> Vec<u8> {
    let bytes = bytes(&format!("X:1\nL:1/4\nM:4/4\nK:C\n{music}\n"));
    let all = events(&bytes).into_iter().filter_map(|(_, _, kind)| match kind {
        TrackEventKind::Midi { message: MidiMessage::NoteOn { vel, .. }, .. } => Some(vel.as_int()),
        _ => None,
    });
    all.collect()
}

/// Ticks and beats a minute, rounded, of a quarter note.
fn tempi(text: &str) -> Vec<(u32, u32)> {
    let bytes = bytes(text);
    let all = events(&bytes).into_iter().filter_map(|(_, now, kind)| match kind {
        TrackEventKind::Meta(MetaMessage::Tempo(length)) => {
            Some((now, (60_000_000 + length.as_int() / 2) / length.as_int()))
        }
        _ => None,
    });
    all.collect()
}

#[test]
fn notes_in_time() {
    let quarter = u32::from(TICKS);
    assert_eq!(
        sounds("X:1\nL:1/4\nK:C\nC^F|\n"),
        [
            (1, 0, true, 60),
            (1, quarter, false, 60),
            (1, quarter, true, 66),
            (1, 2 * quarter, false, 66)
        ]
    );
}

#[test]
fn a_tie_is_one_sound_and_triplets_are_exact() {
    let found = sounds("X:1\nL:1/4\nK:C\nC-|C|\n");
    assert_eq!(found, [(1, 0, true, 60), (1, 2 * u32::from(TICKS), false, 60)]);
    let third = u32::from(TICKS) / 3;
    assert_eq!(sounds("X:1\nL:1/8\nK:C\n(3CDE|\n")[1].1, third);
}

#[test]
fn voices_are_tracks() {
    let found = sounds("X:1\nL:1/4\nK:C\n[V:1]C|\n[V:2]E|\n");
    assert_eq!(found.iter().map(|found| found.0).collect::<Vec<_>>(), [1, 1, 2, 2]);
}

#[test]
fn notes_no_midi_file_can_hold_are_said() {
    let tune = lower("X:1\nL:1/4\nK:C\nC,,,,,,,,C''''''''''|\n").tune;
    let exported = midi_file(&tune).unwrap();
    assert_eq!(read(&exported.bytes), []);
    assert_eq!(exported.left_out.len(), 1);
}

#[test]
fn repeats_and_returns_are_played_out() {
    assert_eq!(
        struck("|:C4|[1D4:|[2E4|]").iter().map(|s| s.1).collect::<Vec<_>>(),
        [60, 62, 60, 64]
    );
    assert_eq!(struck("C4!fine!|D4!D.C.!|"), [(0, 60), (64, 62), (128, 60)]);
    // A tie into a second ending that is not typed there ends with its note.
    assert_eq!(struck("|:C4-|[1C4:|[2C4|]"), [(0, 60), (128, 60), (192, 60)]);
}

#[test]
fn graces_come_before_the_beat() {
    assert_eq!(struck("C2{de}F2|"), [(0, 60), (28, 74), (30, 76), (32, 65)]);
    assert_eq!(struck("{d}F4|"), [(0, 74), (2, 65)]);
    assert_eq!(struck("F/{d}F/|"), [(0, 65), (6, 74), (8, 65)]);
}

#[test]
fn a_key_is_struck_once_at_a_time() {
    let found = sounds("X:1\nL:1/4\nM:4/4\nK:C\n[CC]4|C4&C2C2|\n");
    let ticks: Vec<_> = found.iter().map(|f| (f.1 / u32::from(TICKS), f.2)).collect();
    assert_eq!(ticks, [(0, true), (4, false), (4, true), (6, false), (6, true), (8, false)]);
}

#[test]
fn loudness_holds_swells_and_comes_back() {
    assert_eq!(velocities("C!p!DE!f!F|"), [80, 50, 50, 96]);
    assert_eq!(velocities("!p!!<(!CDE!<)!!f!F|"), [50, 65, 80, 96]);
    assert_eq!(velocities("!p!C!>(!DE!>)!F|"), [50, 50, 42, 34]);
    assert_eq!(velocities("!<(!!p!C!f!!<)!D|"), [50, 96]);
    assert_eq!(velocities("|:C4|!f!D4:|"), [80, 96, 80, 96]);
    assert_eq!(velocities("C!>!D!sfz!EF|"), [80, 94, 106, 80]);
}

#[test]
fn dots_shorten_and_fermatas_hold_back() {
    let quarter = u32::from(TICKS);
    let ends = |music: &str| {
        let all = sounds(&format!("X:1\nL:1/4\nK:C\n{music}|\n"));
        all.into_iter().find(|s| !s.2).map(|s| s.1)
    };
    assert_eq!(ends(".C"), Some(quarter / 2));
    assert_eq!(ends("!wedge!C"), Some(quarter / 4));
    assert_eq!(ends("!tenuto!C"), Some(quarter));
    assert_eq!(tempi("X:1\nL:1/4\nK:C\nCHDE|\n"), [(0, 120), (quarter, 80), (2 * quarter, 120)]);
}

#[test]
fn tempi_in_numbers_and_words() {
    let bar = 4 * u32::from(TICKS);
    assert_eq!(tempi("X:1\nL:1/4\nQ:3/8=40\nK:C\nC|\n"), [(0, 60)]);
    assert_eq!(tempi("X:1\nM:6/8\nQ:\"Allegro molto\"\nK:C\nC|\n"), [(0, 198)]);
    assert_eq!(tempi("X:1\nM:C|\nQ:\"Andante\"\nK:C\nC|\n"), [(0, 160)]);
    assert_eq!(tempi("X:1\nQ:\"Like a leaf\"\nK:C\nC|\n"), [(0, 120)]);
    assert_eq!(
        tempi("X:1\nL:1\nM:4/4\nQ:1/4=60\nK:C\n|:C|[Q:1/4=90]D:|\n"),
        [(0, 60), (bar, 90), (2 * bar, 60), (3 * bar, 90)]
    );
}

#[test]
fn metre_and_key_are_told() {
    let bytes = bytes("X:1\nL:1/8\nM:2+3/8\nK:Gm\nC5|[M:none][K:D exp ^f_e]C4|[M:C|][K:A]C8|\n");
    let all = events(&bytes).into_iter().filter_map(|(_, _, kind)| match kind {
        TrackEventKind::Meta(MetaMessage::TimeSignature(above, power, ..)) => {
            Some(format!("{above}/{}", 1 << power))
        }
        TrackEventKind::Meta(MetaMessage::KeySignature(fifths, minor)) => {
            Some(format!("{fifths}{}", if minor { "m" } else { "" }))
        }
        _ => None,
    });
    assert_eq!(all.collect::<Vec<_>>(), ["5/8", "-2m", "2/2", "3"]);
}

#[test]
fn a_long_silence_is_kept() {
    // 4,096 bars of four quarters are more than one step of a track can hold.
    let found = sounds("X:1\nM:4/4\nL:1/4\nK:C\nZ1000|Z1000|Z1000|Z1000|Z1000|Z1000|Z1000|C|\n");
    assert_eq!(found[0].1, 28_000 * u32::from(TICKS));
}
