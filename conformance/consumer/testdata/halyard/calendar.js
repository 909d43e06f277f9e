// The day of each epoch: RMC and ZDA tell it, GGA does not.
"use strict";

const DAY = 86400;

class Calendar {
  constructor(live, emit) {
    this.live = live;
    this.emit = emit;
    this.known = null; // s since 1970 of the last epoch, which is near the next one
    this.heard = 0;
    this.weak = null;
    this.waiting = [];
  }

  put(epoch) {
    for (const s of epoch.said) {
      if (!s.date || s.tod == null) continue;
      const at = Date.UTC(s.date[0], s.date[1] - 1, s.date[2]) / 1000 + s.tod;
      if (s.firm) this.know(at, epoch.came);
      else this.weak = at;
    }
    this.waiting.push(epoch);
    if (this.known === null && this.live && epoch.came - this.waiting[0].came > 10000) this.guess();
    if (this.known !== null) this.work();
  }

  know(at, came) {
    this.known = at;
    this.heard = came;
  }

  // guess: nobody has told the day.
  guess() {
    this.know(this.weak === null ? Date.now() / 1000 : this.weak, this.waiting[this.waiting.length - 1].came);
  }

  work() {
    for (const e of this.waiting.splice(0)) {
      const about = this.known + (this.live ? (e.came - this.heard) / 1000 : 0);
      const at = e.tod + Math.round((about - e.tod) / DAY) * DAY;
      this.know(at, e.came);
      this.emit(e, at);
    }
  }

  end() {
    if (this.known === null && this.waiting.length > 0) this.guess();
    this.work();
  }
}

module.exports = { Calendar };
