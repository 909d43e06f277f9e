// From bytes to what each sentence says.
"use strict";

// What one sentence says: kind, tod (seconds of the day), date [y, m, d] and firm (may the date be believed), and values in
// rad, m, m/s. A value is null where its field is empty, and absent where the sentence does not speak of it.

const RAD = Math.PI / 180;
const KNOT = 1852 / 3600;
const FIX = {
  none: "none", fix: "autonomous", delta: "differential", pps: "precise", rtk: "rtk-fixed", frtk: "rtk-float",
  estimated: "estimated", manual: "manual", simulation: "simulated",
};
const MODE = { A: "autonomous", D: "differential", E: "estimated", M: "manual", S: "simulated", N: "none", P: "precise", R: "rtk-fixed", F: "rtk-float" };

class Useless extends Error {}

const NUMBER = /^[-+]?(\d+\.?\d*|\.\d+)$/;

// nmea-simple makes 0 of an empty field and 12 of "12x": the fields themselves tell.
function given(field, value) {
  if (field === undefined || field === "") return null;
  if (!NUMBER.test(field) || !Number.isFinite(value)) throw new Useless(field);
  return value;
}

function timeOfDay(field) {
  if (field === undefined || field === "") return null;
  const m = /^([01]\d|2[0-3])([0-5]\d)([0-5]\d|60)(\.\d*)?$/.exec(field);
  if (!m) throw new Useless(field);
  return Number(m[1]) * 3600 + Number(m[2]) * 60 + Number(m[3]) + (m[4] && m[4] !== "." ? Number(m[4]) : 0);
}

// Degrees and minutes whose shape nmea-simple does not look at.
function place(fields, i, value, shape, letters, limit) {
  const [digits, letter] = [fields[i], fields[i + 1]];
  if (digits === "" || digits === undefined) return null;
  if (!shape.test(digits) || !letter || !letters.includes(letter) || Math.abs(value) > limit) throw new Useless(digits);
  if (!digits.includes(".")) { // nmea-simple makes 0 of minutes without decimals
    value = (Number(digits.slice(0, -2)) + Number(digits.slice(-2)) / 60) * (letter === letters[1] ? -1 : 1);
  }
  return value * RAD;
}

const LAT = /^\d{2}[0-5]\d(\.\d*)?$/;
const LON = /^\d{3}[0-5]\d(\.\d*)?$/;

function date(d, m, y) {
  const t = new Date(Date.UTC(y, m - 1, d));
  if (!(t.getUTCMonth() === m - 1 && t.getUTCDate() === d)) throw new Useless("date");
  return [y, m, d];
}

const kinds = {
  GGA(p, f) {
    const fix = FIX[p.fixType];
    if (fix === undefined || !/^\d$/.test(f[6])) throw new Useless("quality");
    const v = {
      lat: place(f, 2, p.latitude, LAT, "NS", 90), lon: place(f, 4, p.longitude, LON, "EW", 180), fix,
      altitude: given(f[9], p.altitudeMeters), undulation: given(f[11], p.geoidalSeperation),
    };
    if (fix === "none") v.lat = v.lon = v.altitude = null;
    return { tod: timeOfDay(f[1]), values: v };
  },
  RMC(p, f) {
    const mode = f[12] || "";
    if (!/^[AV]$/.test(f[2]) || (mode !== "" && !MODE[mode])) throw new Useless("status");
    const silent = mode === "" || (f[2] === "V" && (mode === "A" || mode === "D"));
    const fix = silent ? (f[2] === "A" ? "autonomous" : "none") : MODE[mode];
    const v = {
      lat: place(f, 3, p.latitude, LAT, "NS", 90), lon: place(f, 5, p.longitude, LON, "EW", 180), fix,
      speed: given(f[7], p.speedKnots * KNOT), course: given(f[8], p.trackTrue * RAD),
    };
    if (fix === "none") v.lat = v.lon = v.speed = v.course = null;
    const said = { tod: timeOfDay(f[1]), values: v, firm: fix !== "none" };
    if (f[9]) {
      if (!/^\d{6}$/.test(f[9])) throw new Useless(f[9]);
      const yy = Number(f[9].slice(4));
      said.date = date(Number(f[9].slice(0, 2)), Number(f[9].slice(2, 4)), yy < 80 ? 2000 + yy : 1900 + yy);
    }
    return said;
  },
  VTG(p, f) {
    if (f[2] && f[2] !== "T") throw new Useless("an old edition");
    const v = { course: given(f[1], p.trackTrue * RAD), speed: given(f[5], p.speedKnots * KNOT) };
    if (f[9] === "N") v.course = v.speed = null;
    return { values: v };
  },
  ZDA(p, f) {
    const said = { tod: timeOfDay(f[1]), values: {}, firm: true };
    if (f[2] && f[3] && f[4]) {
      if (!/^\d{1,2}$/.test(f[2]) || !/^\d{1,2}$/.test(f[3]) || !/^\d{4}$/.test(f[4])) throw new Useless("date");
      said.date = date(Number(f[2]), Number(f[3]), Number(f[4]));
    }
    return said;
  },
  HDT(p, f) {
    const heading = given(f[1], p.heading);
    if (heading !== null && (heading < 0 || heading > 360)) throw new Useless("heading");
    return { values: { heading: heading === null ? null : heading * RAD } };
  },
  ROT(p, f) {
    const rate = given(f[1], Number(f[1]));
    return { values: { turning: rate === null || f[2] !== "A" ? null : (rate / 60) * RAD } };
  },
  XDR(p, f) {
    const v = {};
    for (let i = 1; i + 3 < f.length; i += 4) {
      const [type, value, unit, name] = [f[i], f[i + 1], f[i + 2], f[i + 3].toUpperCase()];
      if (type === "A" && unit === "D" && (name === "PITCH" || name === "PTCH")) v.pitch = angle(value);
      if (type === "A" && unit === "D" && name === "ROLL") v.roll = angle(value);
      if (type === "D" && unit === "M" && name === "HEAVE") v.heave = given(value, Number(value));
    }
    return { values: v };
  },
};

function angle(field) {
  const x = given(field, Number(field));
  return x === null ? null : x * RAD;
}

class Reader {
  constructor(nmea, say) {
    this.say = say;
    this.rest = "";
    this.from = 0; // when the first byte of the rest came
    const factory = new (class extends nmea.DefaultPacketFactory {
      assembleCustomPacket(stub, fields) { // the two that the library does not know; their fields are read above
        return stub.sentenceId === "ROT" || stub.sentenceId === "XDR" ? { ...stub, fields } : null;
      }
    })();
    this.parse = (text) => nmea.parseGenericPacket(text, factory);
  }

  push(bytes, now) {
    if (this.rest === "") this.from = now;
    this.rest += bytes.toString("latin1");
    let cut;
    while ((cut = this.rest.search(/[\r\n]/)) >= 0) {
      this.line(this.rest.slice(0, cut), now);
      this.rest = this.rest.slice(cut + 1);
      this.from = now;
    }
    if (this.rest.length > 4096) this.rest = this.rest.slice(-512);
  }

  end() {
    this.line(this.rest, this.from);
    this.rest = "";
  }

  line(raw, now) {
    const text = raw.slice(Math.max(raw.lastIndexOf("$"), 0)); // a start that never ended, or a TAG block, lies before it
    if (!/^\$[\x20-\x7e]*\*[0-9A-Fa-f]{2}$/.test(text)) return;
    let said;
    try {
      const packet = this.parse(text);
      const known = kinds[packet.sentenceId];
      if (!known) return;
      said = known(packet, text.slice(0, -3).split(","));
    } catch (e) {
      return; // hurt, or of a kind that is of no use here
    }
    if (said.tod === undefined && Object.keys(said.values).length === 0) return;
    said.kind = text.slice(3, 6);
    this.say(said, { from: this.from, until: now, bytes: raw.length + 2 });
  }
}

module.exports = { Reader };
