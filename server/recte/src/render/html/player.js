// Plays passages of the page with the browser's own oscillators: notes are handed over a little before they are due.
"use strict";
(() => {
  const source = document.getElementById("sounds");
  const player = document.getElementById("player");
  const Context = window.AudioContext || window.webkitAudioContext;
  if (!source || !player || !Context) return;

  const score = JSON.parse(source.textContent);
  const AHEAD = 0.25, EVERY = 60;
  const signs = [];
  for (let code = 0x23; code < 0x7f; code += 1) {
    const sign = String.fromCharCode(code);
    if (!"&'<>\\".includes(sign)) signs.push(sign);
  }
  const value = new Map(signs.map((sign, at) => [sign, at]));
  const number = (text, from, width) => {
    let sum = 0;
    for (let at = from; at < from + width; at += 1) sum = sum * signs.length + value.get(text[at]);
    return sum;
  };

  // A part's text: for each sound its row in the table of rhythms (step, length, loudness), then its key.
  const decoded = (text) => {
    const sounds = [];
    let onset = 0;
    for (let at = 0; at < text.length; at += score.w + score.k) {
      const row = 3 * number(text, at, score.w);
      onset += score.r[row];
      sounds.push({ onset, length: score.r[row + 1], level: score.r[row + 2], midi: score.low + number(text, at + score.w, score.k) });
    }
    return sounds;
  };
  const once = (make) => {
    let made;
    return () => (made ??= make());
  };
  // A draft: its bars (when each begins, its length, its seconds) and what sounds in its parts.
  const draft = ({ bars, s }) => {
    const starts = [];
    let passed = 0;
    for (let at = 0; at < bars.length; at += 3) {
      starts.push({ tick: bars[at], length: bars[at + 1], seconds: bars[at + 2], from: passed });
      passed += bars[at + 2];
    }
    return { starts, whole: once(() => s.map(decoded)) };
  };
  const now = draft(score);
  const last = score.o && draft(score.o);
  const proposals = score.p.map((parts) => once(() => parts.map(decoded)));

  // A moment of a draft as seconds from its beginning.
  const seconds = ({ starts }, tick) => {
    let low = 0, high = starts.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (starts[middle].tick <= tick) low = middle; else high = middle - 1;
    }
    const bar = starts[low];
    return bar.length > 0 ? bar.from + (tick - bar.tick) / bar.length * bar.seconds : bar.from;
  };

  const passage = (of, from, to, proposal) => {
    const begin = of.starts[from].tick;
    const end = of.starts[to].tick + of.starts[to].length;
    const first = seconds(of, begin);
    const list = [];
    (proposal === undefined ? of.whole() : proposals[proposal]()).forEach((sounds, part) => {
      for (const one of sounds) {
        if (one.onset < begin || one.onset >= end) continue;
        const at = seconds(of, one.onset) - first;
        list.push({ at, lasts: seconds(of, Math.min(one.onset + one.length, end)) - first - at, midi: one.midi, level: one.level, part });
      }
    });
    list.sort((a, b) => a.at - b.at);
    return { list, lasts: seconds(of, end) - first };
  };

  let audio, master, gains, playing, timer, noise;
  const ready = () => {
    if (audio) return;
    audio = new Context();
    master = audio.createGain();
    master.gain.value = 0.7;
    master.connect(audio.destination);
    gains = score.parts.map(() => {
      const gain = audio.createGain();
      gain.connect(master);
      return gain;
    });
    noise = audio.createBuffer(1, audio.sampleRate / 4, audio.sampleRate);
    const samples = noise.getChannelData(0);
    let state = 7;
    for (let at = 0; at < samples.length; at += 1) {
      state = state * 16807 % 2147483647;
      samples[at] = state / 1073741823.5 - 1;
    }
  };

  const sound = (note, at, lasts) => {
    const gain = audio.createGain();
    const pitched = score.parts[note.part][1];
    const loud = (0.05 + 0.028 * note.level) / Math.sqrt(Math.max(1, Math.min(score.parts.length, 8) / 2));
    let voice;
    if (pitched) {
      voice = audio.createOscillator();
      voice.type = "triangle";
      voice.frequency.value = 440 * 2 ** ((note.midi - 69) / 12);
    } else {
      voice = audio.createBufferSource();
      voice.buffer = noise;
      lasts = Math.min(lasts, 0.12);
    }
    const end = at + Math.max(lasts, 0.05);
    gain.gain.setValueAtTime(0, at);
    gain.gain.linearRampToValueAtTime(loud, at + 0.012);
    gain.gain.linearRampToValueAtTime(pitched ? loud * 0.6 : 0.0001, end);
    gain.gain.linearRampToValueAtTime(0, end + 0.05);
    voice.connect(gain).connect(gains[note.part]);
    voice.start(at);
    voice.stop(end + 0.06);
    playing.voices.add(voice);
    voice.onended = () => { gain.disconnect(); playing?.voices.delete(voice); };
  };

  const tempo = player.querySelector("[data-tempo]");
  const shown = player.querySelector("[data-shown]");
  const status = player.querySelector("[data-status]");
  const rate = () => Number(tempo.value) / 100;
  // Where the passage is at a moment of the audio's clock.
  const reached = () => playing.done + (audio.currentTime - playing.since) * playing.rate;

  const tick = () => {
    const now = reached();
    while (playing.next < playing.list.length && playing.list[playing.next].at < now + AHEAD * playing.rate) {
      const note = playing.list[playing.next];
      playing.next += 1;
      sound(note, playing.since + (note.at - playing.done) / playing.rate, note.lasts / playing.rate);
    }
    if (now > playing.lasts + 0.15) stop();
  };
  const stop = () => {
    clearInterval(timer);
    if (!playing) return;
    playing.voices.forEach((voice) => { try { voice.stop(); } catch { /* it has ended */ } });
    playing.button.setAttribute("aria-pressed", "false");
    playing = undefined;
    status.textContent = "Stopped.";
  };
  const play = async (button) => {
    const again = playing?.button === button;
    stop();
    if (again) return;
    ready();
    await audio.resume();
    const { from, to, proposal } = button.dataset;
    const of = "last" in button.dataset ? last : now;
    const { list, lasts } = passage(of, Number(from), Number(to), proposal === undefined ? undefined : Number(proposal));
    playing = { list, lasts, next: 0, done: 0, since: audio.currentTime + 0.08, rate: rate(), button, voices: new Set() };
    button.setAttribute("aria-pressed", "true");
    player.hidden = false;
    status.textContent = `Playing ${button.dataset.name}.`;
    timer = setInterval(tick, EVERY);
    tick();
  };

  document.querySelectorAll("button[data-from]").forEach((button) => { button.hidden = false; });
  document.addEventListener("click", (event) => {
    const button = event.target.closest("button[data-from]");
    if (button) play(button);
  });
  player.querySelector("[data-stop]").addEventListener("click", stop);
  document.addEventListener("keydown", (event) => { if (event.key === "Escape") stop(); });
  tempo.addEventListener("input", () => {
    shown.textContent = `${tempo.value} %`;
    if (!playing) return;
    playing.done = reached();
    playing.since = audio.currentTime;
    playing.rate = rate();
  });
  player.addEventListener("change", (event) => {
    const part = event.target.dataset.part;
    if (part === undefined) return;
    ready();
    gains[Number(part)].gain.setTargetAtTime(event.target.checked ? 1 : 0, audio.currentTime, 0.02);
  });
})();
