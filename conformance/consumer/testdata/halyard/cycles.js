// From sentences to the epochs of the device.
//
// A device says everything about one instant in one go, pauses, and goes on with the next. Only what has a time of its own
// makes an epoch here; what comes in a go without any time is left aside: nobody has said when it was.
"use strict";

const DAY = 86400;
const PAUSE = 60; // ms for which no line is silent within a go, but on a busy computer
const LONG = 200; // ms for which it is not even there

function apart(a, b) {
  const d = Math.abs(a - b) % DAY;
  return Math.min(d, DAY - d) > 0.005;
}

class Cycles {
  constructor(live, byteTime, emit) {
    this.live = live;
    this.pause = Math.max(PAUSE, 8 * byteTime);
    this.emit = emit;
    this.now = null;
    this.leads = null; // the time comes first in a go
    this.votes = [];
    this.gone = []; // the kinds of the last goes
    this.ended = null; // when the last sentence did
    this.last = null; // when the last byte came
    if (live) {
      this.beat = performance.now();
      this.stalled = 0; // until when pauses prove nothing: this process was not there to hear
      this.timer = setInterval(() => this.tick(), 5);
    }
  }

  // tick hears the silence. A timer that is late says that the computer was busy, not that the line was silent.
  tick() {
    const now = performance.now();
    if (now - this.beat > 15) this.stalled = now + 10;
    this.beat = now;
    if (this.now && now > this.stalled && now - this.last > this.patience()) this.close(true);
  }

  // patience is how long a silence ends a go: longer if there is yet to come what usually comes.
  patience() {
    if (this.gone.length < 6) return Math.max(LONG, this.pause);
    const has = new Set(this.now.said.map((s) => s.kind));
    const often = new Map();
    for (const kinds of this.gone) for (const k of kinds) often.set(k, (often.get(k) || 0) + 1);
    for (const [k, n] of often) if (n * 3 > this.gone.length && !has.has(k)) return Math.max(LONG, this.pause);
    return this.pause;
  }

  // heard: bytes came, of a sentence that has yet to end perhaps.
  heard(now) {
    this.last = now;
  }

  add(said, came) {
    const e = this.now;
    const paused = this.live && this.ended !== null && came.from - this.ended > (e ? this.patience() : this.pause) && came.from > this.stalled;
    if (this.leads === null) this.leads = said.tod != null;
    if (e) {
      const timed = said.tod != null;
      const other = timed && e.tod !== null && apart(said.tod, e.tod);
      const again = e.said.some((s) => s.kind === said.kind && this.overlaps(s, said)) && !(timed && e.tod !== null && !other);
      const first = timed && e.tod === null && this.leads;
      if (paused || other || again || first) this.close(paused);
    }
    if (!this.now) this.now = { said: [], tod: null, came: came.from, paused };
    this.now.said.push(said);
    if (said.tod != null && (this.now.tod === null || said.kind === "GGA")) this.now.tod = said.tod;
    this.last = this.ended = came.until;
  }

  overlaps(a, b) {
    const keys = Object.keys(a.values);
    return keys.length === 0 || keys.some((k) => k in b.values);
  }

  close(silent) {
    const e = this.now;
    this.now = null;
    if (!e) return;
    this.gone.push(new Set(e.said.map((s) => s.kind)));
    if (this.gone.length > 12) this.gone.shift();
    if (e.tod === null) return;
    if (e.paused && silent) { // it began and ended with a silence: whole
      this.votes.push(e.said[0].tod != null);
      if (this.votes.length > 9) this.votes.shift();
      this.leads = this.votes.filter(Boolean).length * 2 >= this.votes.length;
    }
    this.emit(e);
  }

  end() {
    clearInterval(this.timer);
    this.close(false);
  }
}

module.exports = { Cycles };
