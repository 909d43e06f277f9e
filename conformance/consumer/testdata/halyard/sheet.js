// The installation file: YAML as such files use it, block and flow, read by recursive descent.
"use strict";

const LENGTHS = { m: 1, mm: 1e-3, cm: 1e-2, km: 1e3, ft: 0.3048, NM: 1852 };
const ANGLES = { deg: Math.PI / 180, rad: 1, mrad: 1e-3, arcmin: Math.PI / 10800, arcsec: Math.PI / 648000 };

function measure(text, units) {
  const m = /^([-+]?(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)\s*([A-Za-z]+)$/.exec(String(text).trim());
  if (!m || !Object.hasOwn(units, m[2])) throw new Error(`${JSON.stringify(text)} is no number with one of the units ${Object.keys(units).join(", ")}`);
  return Number(m[1]) * units[m[2]];
}

const length = (t) => measure(t, LENGTHS);
const angle = (t) => measure(t, ANGLES);

function vector(v) {
  if (!Array.isArray(v) || v.length !== 3) throw new Error(`${JSON.stringify(v)} is no [right, forward, up]`);
  return v.map(length);
}

// tokens cuts a file into words, marks and line starts; comments are dropped.
function tokens(text) {
  const out = [];
  let depth = 0;
  text.split(/\r?\n/).forEach((row, n) => {
    const indent = /^ */.exec(row)[0].length;
    let i = indent;
    let first = true;
    const put = (t) => {
      out.push({ ...t, line: n, indent, col: i, first: first && depth === 0 });
      first = false;
    };
    while (i < row.length) {
      const c = row[i];
      const before = i === 0 ? " " : row[i - 1];
      if (c === " " || c === "\t") i++;
      else if (c === "#" && /\s/.test(before)) break;
      else if ("[{".includes(c)) { put({ mark: c }); depth++; i++; }
      else if ("]}".includes(c)) { put({ mark: c }); depth--; i++; }
      else if (c === "," && depth > 0) { put({ mark: c }); i++; }
      else if (c === ":" && (i + 1 === row.length || /[\s,\]}]/.test(row[i + 1]))) { put({ mark: c }); i++; }
      else if (c === "-" && depth === 0 && (i + 1 === row.length || row[i + 1] === " ")) { put({ mark: c }); i++; }
      else if (c === '"' || c === "'") {
        const end = row.indexOf(c, i + 1);
        if (end < 0) throw new Error(`line ${n + 1}: a quote that does not end`);
        put({ word: row.slice(i + 1, end), quoted: true });
        i = end + 1;
      } else {
        let j = i;
        while (j < row.length && !(depth > 0 && ",]}".includes(row[j])) && !(row[j] === ":" && (j + 1 === row.length || /[\s,\]}]/.test(row[j + 1])))
          && !(row[j] === "#" && /\s/.test(row[j - 1]))) j++;
        put({ word: row.slice(i, j).trim() });
        i = j;
      }
    }
  });
  return out.filter((t) => !(t.first && t.indent === 0 && (t.word === "---" || t.word === "...")));
}

class Parser {
  constructor(text) { this.list = tokens(text); this.at = 0; }

  peek() { return this.list[this.at]; }

  bad(what) {
    const t = this.peek() || this.list[this.list.length - 1];
    throw new Error(t ? `line ${t.line + 1}: ${what}` : what);
  }

  take(mark) {
    const t = this.peek();
    if (!t || t.mark !== mark) this.bad(`no ${mark} where one is needed`);
    this.at++;
    return t;
  }

  scalar() {
    const t = this.peek();
    if (!t || t.word === undefined) this.bad("no value where one is needed");
    this.at++;
    return !t.quoted && ["", "~", "null"].includes(t.word) ? null : t.word;
  }

  flow() {
    const t = this.peek();
    if (!t) this.bad("a value is missing");
    if (t.mark === "[") {
      this.at++;
      const out = [];
      while (!this.is("]")) {
        out.push(this.flow());
        if (!this.is("]")) this.take(",");
      }
      this.at++;
      return out;
    }
    if (t.mark === "{") {
      this.at++;
      const out = {};
      while (!this.is("}")) {
        const key = this.scalar();
        this.take(":");
        this.set(out, key, this.is(",") || this.is("}") ? null : this.flow());
        if (!this.is("}")) this.take(",");
      }
      this.at++;
      return out;
    }
    return this.scalar();
  }

  is(mark) {
    const t = this.peek();
    if (!t) this.bad(`a bracket is not closed before the end: no ${mark}`);
    return t.mark === mark;
  }

  set(map, key, value) {
    if (key === null || Object.hasOwn(map, key)) this.bad(`the key ${key} stands twice`);
    Object.defineProperty(map, key, { value, enumerable: true, writable: true, configurable: true });
  }

  block(indent) {
    const t = this.peek();
    if (t.mark === "-") {
      const out = [];
      for (let n = this.peek(); n && n.first && n.indent === indent && n.mark === "-"; n = this.peek()) {
        this.at++;
        out.push(this.flow());
      }
      return out;
    }
    if (t.mark === "{" || t.mark === "[") return this.flow();
    const out = {};
    for (let n = this.peek(); n && n.first && n.indent === indent; n = this.peek()) {
      const key = this.scalar();
      const colon = this.take(":");
      const v = this.peek();
      if (v && v.line === colon.line && !v.first) this.set(out, key, this.flow());
      else if (v && v.first && (v.indent > indent || (v.indent === indent && v.mark === "-"))) this.set(out, key, this.block(v.indent));
      else this.set(out, key, null);
    }
    return out;
  }
}

function readSheet(text) {
  const p = new Parser(text);
  if (!p.peek()) throw new Error("it is empty");
  const sheet = p.block(p.peek().indent);
  if (p.peek()) p.bad("odd indentation");
  if (typeof sheet !== "object" || sheet === null || Array.isArray(sheet)) throw new Error("not an installation");
  return Object.assign(Object.create({ length, angle, vector }), sheet);
}

module.exports = { readSheet };
