//! Texture and form on real scores.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::print_stdout)]

use recte_score::texture::boundaries::{Evidence, Weights, evidence, peaks};
use recte_score::texture::describe::by_bar;
use recte_score::texture::measures::divergence;
use recte_score::texture::{Analysis, Matrix, sections};
use recte_score::{LineStyle, Tune};

mod real;
use real::{imported, tunes_of};

/// The tune as it would be without bar lines that divide, repeats, parts and titled sections.
fn without_marks(tune: &Tune) -> Tune {
    let mut tune = tune.clone();
    tune.sections.clear();
    tune.part_order = None;
    for bar in tune.voices.iter_mut().flat_map(|voice| &mut voice.bars) {
        bar.style = LineStyle::Plain;
        (bar.strong_line, bar.section_ends, bar.ending) = (false, false, false);
        (bar.repeat_opens, bar.repeat_closes) = (0, 0);
        bar.endings.clear();
        bar.ending_words = None;
    }
    tune
}

/// Where marks say that a section begins, those next to each other told once, none at either end.
fn marked(tune: &Tune) -> Vec<usize> {
    let marks = sections::Marks::of(tune);
    let mut all: Vec<usize> = marks.typed.keys().map(|bar| *bar as usize).collect();
    all.extend(marks.lines.iter().map(|bar| *bar as usize));
    all.sort_unstable();
    let mut kept: Vec<usize> = Vec::new();
    for bar in all {
        let inside = bar >= 4 && bar + 4 <= tune.bars.len();
        if inside && kept.last().is_none_or(|last| bar - last > 1) {
            kept.push(bar);
        }
    }
    kept
}

fn hits(found: &[usize], wanted: &[usize]) -> usize {
    wanted.iter().filter(|bar| found.iter().any(|own| own.abs_diff(**bar) <= 1)).count()
}

#[derive(Default, Clone, Copy)]
struct Tally {
    hit: usize,
    wanted: usize,
    told: usize,
    right: usize,
}
impl Tally {
    fn add(&mut self, found: &[usize], wanted: &[usize]) {
        self.hit += hits(found, wanted);
        self.wanted += wanted.len();
        self.told += found.len();
        self.right += hits(wanted, found);
    }
    fn show(&self) -> String {
        let r = self.hit as f64 / self.wanted as f64;
        let p = self.right as f64 / self.told as f64;
        format!(
            "recall {:.3} precision {:.3} F {:.3} ({} of {}, {} told)",
            r,
            p,
            2.0 * r * p / (r + p),
            self.hit,
            self.wanted,
            self.told
        )
    }
}

fn top(strengths: &[f64], count: usize) -> Vec<usize> {
    let mut order: Vec<usize> = (4..strengths.len().saturating_sub(3)).collect();
    order.sort_by(|a, b| strengths[*b].total_cmp(&strengths[*a]).then(a.cmp(b)));
    let mut chosen: Vec<usize> = Vec::new();
    for bar in order {
        if chosen.len() < count && chosen.iter().all(|o| bar.abs_diff(*o) >= 4) {
            chosen.push(bar);
        }
    }
    chosen
}

#[test]
fn joints_are_heard_where_they_are_marked() {
    let mut tallies: Vec<(&str, Tally)> =
        ["ours", "equal", "plain", "ours-k", "plain-k", "equal-k"]
            .iter()
            .map(|n| (*n, Tally::default()))
            .collect();
    let one = |e: Evidence, w: usize| {
        [e.texture, e.material, e.closure, e.wait, e.fermata, e.change, e.comes_back][w]
    };
    let mut each = [Tally::default(); 7];
    let mut pieces = 0;
    for (file, document) in imported(1) {
        for block in tunes_of(&document) {
            let tune = &block.lowered().tune;
            let wanted = marked(tune);
            if wanted.is_empty() {
                continue;
            }
            pieces += 1;
            let bare = without_marks(tune);
            let all = Analysis::of(&bare);
            let found: Vec<usize> = all.boundaries().iter().map(|b| b.bar as usize).collect();
            tallies[0].1.add(&found, &wanted);
            let n = tune.bars.len();
            let equal =
                |k: usize| (1..=k).map(|i| (i * n + (k + 1) / 2) / (k + 1)).collect::<Vec<_>>();
            tallies[1].1.add(&equal(found.len()), &wanted);
            let bars = by_bar(all.table());
            let plain =
                Matrix::of(n, |a, b| 1.0 - divergence(&bars[a].classes, &bars[b].classes).sqrt());
            let novelty: Vec<f64> = (0..n).map(|b| plain.novelty_within(b, 4)).collect();
            tallies[2].1.add(&top(&novelty, found.len()), &wanted);
            let ground = all.ground();
            let ev = evidence(&ground);
            let _ = (Weights::default(), peaks(&novelty));
            let st: Vec<f64> = ev.iter().map(|e| e.strength(&Weights::default())).collect();
            tallies[3].1.add(&top(&st, wanted.len()), &wanted);
            tallies[4].1.add(&top(&novelty, wanted.len()), &wanted);
            tallies[5].1.add(&equal(wanted.len()), &wanted);
            for w in 0..7 {
                let s: Vec<f64> = ev.iter().map(|e| one(*e, w)).collect();
                each[w].add(&top(&s, wanted.len()), &wanted);
            }
            if std::env::var_os("RECTE_SHOW").is_some() {
                println!("@{file}\t{n}\t{wanted:?}\t{found:?}");
                for (b, e) in ev.iter().enumerate() {
                    println!(
                        "#{file}\t{b}\t{}\t{:.3}\t{:.3}\t{:.3}\t{:.3}\t{:.3}\t{:.3}\t{:.3}\t{:.3}",
                        u8::from(wanted.contains(&b)),
                        e.texture,
                        e.material,
                        e.closure,
                        e.wait,
                        e.fermata,
                        e.change,
                        e.comes_back,
                        novelty[b]
                    );
                }
            }
        }
    }
    println!("{pieces} pieces");
    for (name, tally) in &tallies {
        println!("{name}: {}", tally.show());
    }
    for (w, tally) in each.iter().enumerate() {
        println!("{w}: {}", tally.show());
    }
}
