// What happened: events of the record file, kept in the browser where it can, and the state that follows from them.

const KEY = "panewright.table." + DATA.plan;
const PREFERENCES = "panewright.table";

function worksStorage() {
  try {
    const probe = KEY + ".probe";
    localStorage.setItem(probe, "1");
    const works = localStorage.getItem(probe) === "1";
    localStorage.removeItem(probe);
    return works;
  } catch {
    return false;
  }
}

const storageWorks = worksStorage();
let storageFull = false;

function stored(key) {
  if (!storageWorks) return null;
  try {
    const found = JSON.parse(localStorage.getItem(key));
    return found && typeof found === "object" && !Array.isArray(found) ? found : null;
  } catch {
    return null;
  }
}

function store(key, value) {
  if (!storageWorks) return;
  try {
    localStorage.setItem(key, JSON.stringify(value));
    storageFull = false;
  } catch {
    storageFull = true;
  }
}

const preferences = { device: "", who: "", theme: "auto", close: true, ...(stored(PREFERENCES) || {}) };

function listsOf(value) {
  if (!value || typeof value !== "object") return {};
  return Object.fromEntries(Object.entries(value).filter(([, v]) => Array.isArray(v) && v.every(Number.isInteger)));
}

function loaded() {
  const found = stored(KEY) || {};
  const fits = found.sequence === DATA.sequence;
  const events = Array.isArray(found.events) ? found.events : [];
  return {
    sequence: DATA.sequence,
    events: events.filter((e) => e && typeof e.id === "string" && typeof e.what === "string"),
    saved: Number.isInteger(found.saved) ? found.saved : 0,
    // places hold for one order of the cuts only
    places: fits && found.places && typeof found.places === "object" ? found.places : {},
    // by sheet: steps that are done, or not, against what the place says
    odd: fits ? listsOf(found.odd) : {},
    // by event of a flaw: the steps that were done when it was seen
    seen: fits ? listsOf(found.seen) : {},
    open: fits && Number.isInteger(found.open) ? found.open : -1,
  };
}

let state = loaded();

function keep() {
  store(KEY, state);
}

function keepPreferences() {
  store(PREFERENCES, preferences);
}

function randomId() {
  const bytes = new Uint8Array(16);
  crypto.getRandomValues(bytes);
  return [...bytes].map((b) => b.toString(16).padStart(2, "0")).join("");
}

// the time with its zone: 2027-03-08T09:41:00+01:00
function timeText(date) {
  const two = (n) => String(Math.floor(Math.abs(n))).padStart(2, "0");
  const ahead = -date.getTimezoneOffset();
  const day = `${date.getFullYear()}-${two(date.getMonth() + 1)}-${two(date.getDate())}`;
  const clock = `${two(date.getHours())}:${two(date.getMinutes())}:${two(date.getSeconds())}`;
  return `${day}T${clock}${ahead < 0 ? "-" : "+"}${two(ahead / 60)}:${two(ahead % 60)}`;
}

function happened(what, more) {
  const who = preferences.who ? { who: preferences.who } : {};
  const id = randomId();
  state.events.push({ id, at: timeText(new Date()), ...who, what, ...more });
  keep();
  return id;
}

function undone() {
  return new Set(state.events.filter((e) => e.what === "undone").map((e) => e.undoes));
}

// events that count, the last one first
function standing() {
  const gone = undone();
  return state.events.filter((e) => e.what !== "undone" && !gone.has(e.id)).reverse();
}

function undo(event) {
  happened("undone", { undoes: event.id });
}

const panelIndex = new Map(DATA.panels.map((p, i) => [p[0], i]));
const offcutIndex = new Map(DATA.offcuts.map((o, i) => [o[0], i]));

// what the standing events lead to
function doneNow() {
  // a plan made from one that had begun knows itself which sheets were cut
  const cut = new Set(DATA.sheets.filter((s) => s.cut).map((s) => s.number));
  const broken = new Map();
  const kept = new Map();
  const flaws = new Map();
  for (const event of standing().reverse()) {
    if (event.what === "sheet cut") cut.add(event.sheet);
    if (event.what === "sheet flawed") flaws.set(event.sheet, [...(flaws.get(event.sheet) || []), event]);
    if (event.what === "panel broken" && panelIndex.has(event.panel)) {
      broken.set(panelIndex.get(event.panel), event.at_step);
    }
    if (event.what.startsWith("offcut ") && offcutIndex.has(event.offcut)) {
      kept.set(offcutIndex.get(event.offcut), event.what === "offcut kept");
    }
  }
  return { cut, broken, kept, flaws };
}

function lastTime() {
  const times = state.events.map((e) => Date.parse(e.at)).filter((t) => !Number.isNaN(t));
  return times.length ? times.reduce((a, b) => Math.max(a, b)) : null;
}

function currentCode() {
  const done = doneNow();
  const works = DATA.at_steps.map((a) => a[0]);
  return recordCode(DATA.plan, {
    cut: DATA.sheets.map((s) => done.cut.has(s.number)),
    broken: new Map([...done.broken].map(([i, work]) => [i, Math.max(0, works.indexOf(work))])),
    offcuts: DATA.offcuts.map((_, i) => (done.kept.has(i) ? done.kept.get(i) : null)),
    at: lastTime(),
  });
}

function recordFile() {
  const head = { schema: "panewright.record/1", plan: DATA.plan, device: preferences.device };
  return JSON.stringify({ ...head, events: state.events }, null, 1) + "\n";
}

function saveRecord() {
  const stamp = timeText(new Date()).slice(0, 19).replace(/[-:]/g, "").replace("T", "-");
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([recordFile()], { type: "application/json" }));
  link.download = `${DATA.plan}-${stamp}.record.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  state.saved = state.events.length;
  keep();
}

function unsaved() {
  return state.events.length > state.saved;
}
