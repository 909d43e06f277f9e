// The installation, and what of it the device has not applied.
"use strict";

const { times, back, attitude, turn, angles, azimuth, sum, less, size } = require("./turning.js");
const { step } = require("./earth.js");

const NONE = [0, 0, 0];
const TINY = 1e-9;

class Vessel {
  constructor(sheet) {
    if (!sheet || typeof sheet !== "object" || Array.isArray(sheet)) throw new Error("not an installation");
    const points = new Map([["reference", NONE]]);
    for (const [name, v] of Object.entries(sheet.points || {})) points.set(name, sheet.vector(v));
    const place = (v) => {
      if (Array.isArray(v)) return sheet.vector(v);
      if (!points.has(v)) throw new Error(`no point ${v}`);
      return points.get(v);
    };
    const mounted = (m) => attitude(...["heading", "pitch", "roll"].map((k) => (m && m[k] != null ? sheet.angle(m[k]) : 0)));
    const told = sheet.entered || {};

    this.sensor = place("sensor");
    this.primary = points.get("antenna-primary") || null;
    const secondary = points.get("antenna-secondary");
    this.baseline = this.primary && secondary ? less(secondary, this.primary) : null;

    // What brings the axes that the wire speaks of to those of the vessel.
    const wire = told.mounting ? mounted(told.mounting) : [1, 0, 0, 0];
    this.left = times(wire, back(mounted(sheet.mounting)));
    this.square = size(this.left.slice(1)) < TINY;

    const toldSensor = told.sensor != null ? place(told.sensor) : this.sensor;
    const antenna = (v) => {
      if (v == null) return null;
      let at = place(v);
      if (Array.isArray(v)) {
        if (told.antennas.axes === "device") at = turn(wire, at);
        if (told.antennas.from === "sensor") at = sum(at, toldSensor);
      }
      return at;
    };
    const a1 = antenna((told.antennas || {}).primary);
    const a2 = antenna((told.antennas || {}).secondary);
    this.toldBaseline = a1 && a2 ? less(a2, a1) : null;
    if (told.baseline) {
      const b = told.baseline;
      const el = b.elevation != null ? sheet.angle(b.elevation) : 0;
      const [az, length] = [sheet.angle(b.azimuth), sheet.length(b.length)];
      this.toldBaseline = [length * Math.sin(az) * Math.cos(el), length * Math.cos(az) * Math.cos(el), length * Math.sin(el)];
    }

    // How far the device has gone from the antenna and from the sensor.
    this.carried = this.lifted = NONE;
    if (a1 && told["output-point"] != null) {
      const out = place(told["output-point"]);
      this.carried = less(out, a1);
      this.lifted = less(out, toldSensor);
    }
    this.name = (sheet["expected-of-consumer"] || {})["output-point"] || "reference";
    this.target = place(this.name);
    this.sameBaseline = this.baseline && this.toldBaseline
      && size(less(this.baseline.map((x) => x / size(this.baseline)), this.toldBaseline.map((x) => x / size(this.toldBaseline)))) < TINY;
  }

  // solve gives the attitude of the vessel, and that by which the device turns its arms. w: heading, pitch and roll of the
  // wire; each null if it is not there.
  solve(w) {
    const s = { heading: null, pitch: null, roll: null, vessel: null, believed: null };
    const tilted = w.pitch != null && w.roll != null;
    const heading = w.heading == null ? null : w.heading;
    if (this.square) Object.assign(s, { pitch: w.pitch, roll: w.roll });
    if (!tilted) {
      const free = this.baseline ? this.sameBaseline : true;
      if (this.square && free) s.heading = heading;
      else if (this.baseline && !this.toldBaseline && Math.hypot(this.baseline[0], this.baseline[2]) < TINY && heading !== null) {
        s.heading = heading - azimuth(this.baseline); // fore and aft: no tilt turns it
      }
      return s;
    }
    const level = attitude(0, w.pitch, w.roll); // but for a heading
    const guess = times(level, this.left);
    ({ pitch: s.pitch, roll: s.roll } = angles(guess));
    s.level = { wire: level, vessel: guess };
    if (heading === null) return s;

    let about = heading; // by how much all has to be turned clockwise
    if (this.baseline) {
      const north = this.toldBaseline ? heading + azimuth(turn(level, this.toldBaseline)) : heading;
      const seen = turn(guess, this.baseline);
      if (Math.hypot(seen[0], seen[1]) < 1e-12 * size(seen)) return s;
      about = north - azimuth(seen);
    }
    const round = attitude(about, 0, 0);
    s.vessel = times(round, guess);
    s.believed = this.baseline && this.toldBaseline ? attitude(heading, w.pitch, w.roll) : times(round, level);
    s.heading = angles(s.vessel).heading;
    return s;
  }

  // position carries one of the wire to the point that is wanted; null where it takes an attitude that is not there.
  position(lat, lon, height, s) {
    if (!this.primary) return null;
    const trusted = this.square && (!this.baseline || !this.toldBaseline || this.sameBaseline);
    if (trusted && size(less(less(this.target, this.primary), this.carried)) < TINY) return { lat, lon, height };
    if (!s.vessel) return null;
    const way = less(turn(s.vessel, less(this.target, this.primary)), turn(s.believed, this.carried));
    const at = step(lat, lon, height === null ? 0 : height, way);
    return { lat: at.lat, lon: at.lon, height: height === null ? null : at.height };
  }

  heave(h, s) {
    const arm = less(this.target, this.sensor);
    if (this.square && size(less(arm, this.lifted)) < TINY) return h;
    if (size(arm) < TINY && size(this.lifted) < TINY) return h;
    if (!s.level) return null;
    const lift = (q, l) => turn(q, l)[2] - l[2];
    return h - lift(s.level.wire, this.lifted) + lift(s.level.vessel, arm);
  }
}

module.exports = { Vessel };
