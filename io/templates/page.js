// The page: sheet list, walk through a sheet, record.

const $ = (id) => document.getElementById(id);
const SHOWN = 60;

function t(key, values = {}) {
  return DATA.texts[key].replace(/\{(\w+)\}/g, (all, name) => (name in values ? values[name] : all));
}

function make(tag, properties = {}, ...children) {
  const node = document.createElement(tag);
  for (const [key, value] of Object.entries(properties)) {
    if (key === "class") node.className = value;
    else if (key === "onclick") node.addEventListener("click", value);
    else if (value !== null && value !== false) node.setAttribute(key, value === true ? "" : value);
  }
  node.append(...children.filter((child) => child !== null && child !== ""));
  return node;
}

function button(words, onclick, properties = {}) {
  return make("button", { type: "button", onclick, ...properties }, words);
}

// names of orders may run from right to left
function name(text) {
  return make("bdi", {}, text);
}

function kilograms(grams) {
  return t("kg", { kg: (Math.ceil(grams / 100) / 10).toFixed(1) });
}

const drawing = new Drawing($("drawing"));
let view = "home";
let sheetAt = -1;

// ------------------------------------------------------------ the cards of a sheet

const cardsOf = new Map();

function cards(sheet) {
  if (!cardsOf.has(sheet)) {
    const list = [{ kind: "start", before: 0 }];
    sheet.steps.forEach((step, i) => {
      if (step.first) list.push({ kind: "placement", placement: sheet.placements[step.placement], step, before: i });
      list.push({ kind: "step", step, before: i });
    });
    list.push({ kind: "end", before: sheet.steps.length });
    cardsOf.set(sheet, list);
  }
  return cardsOf.get(sheet);
}

function place(sheet) {
  const at = state.places[sheet.number];
  return Number.isInteger(at) ? Math.min(Math.max(at, 0), cards(sheet).length - 1) : 0;
}

function stepsDone(sheet, done) {
  return done.cut.has(sheet.number) ? sheet.steps.length : cards(sheet)[place(sheet)].before;
}

function isOff(panel, done) {
  const [, , , , sheet, step] = DATA.panels[panel];
  return done.cut.has(DATA.sheets[sheet].number) || (step > 0 && stepsDone(DATA.sheets[sheet], done) >= step);
}

// ------------------------------------------------------------ what stands on every view

function renderTop() {
  const done = doneNow();
  let panels = 0;
  let cullet = 0;
  for (const sheet of DATA.sheets) {
    const steps = stepsDone(sheet, done);
    if (done.cut.has(sheet.number)) panels += sheet.panels.length;
    else for (const p of sheet.panels) panels += DATA.panels[p][5] > 0 && DATA.panels[p][5] <= steps ? 1 : 0;
    for (let i = 0; i < steps; i++) cullet += sheet.steps[i].cullet;
  }
  const rows = [
    ["tally_panels", t("of", { done: panels, count: DATA.panels.length })],
    ["tally_sheets", t("of", { done: done.cut.size, count: DATA.sheets.length })],
    ["tally_cullet", kilograms(cullet)],
    ["tally_broken", String(done.broken.size)],
  ];
  $("tally").replaceChildren(
    ...rows.map(([key, value]) => make("div", { id: key }, make("dt", {}, t(key)), make("dd", {}, value))),
  );
  const waits = unsaved();
  $("to-record").classList.toggle("waits", waits);
  $("to-record").textContent = waits ? t("record_unsaved") : t("record");
  const lines = [];
  if (!storageWorks) lines.push(t("no_storage"));
  else if (storageFull) lines.push(t("storage_full"));
  const standing = DATA.warnings.filter((_, i) => view === "home" || i < DATA.standing);
  $("warnings").replaceChildren(
    ...[...lines, ...standing].map((line) => make("p", { class: "warning" }, line)),
  );
}

function show(wanted, focus = true) {
  view = wanted;
  for (const id of ["home", "work", "record"]) $(id).hidden = id !== wanted;
  document.body.dataset.view = wanted;
  $("to-home").setAttribute("aria-current", wanted === "home" ? "page" : "false");
  $("to-record").setAttribute("aria-current", wanted === "record" ? "page" : "false");
  if (wanted === "home") renderHome();
  if (wanted === "work") renderWork();
  if (wanted === "record") renderRecord();
  renderTop();
  if (wanted === "record" || wanted === "home") {
    state.open = wanted === "home" ? -1 : state.open;
    keep();
  }
  if (focus) {
    $(`${wanted}-title`).focus({ preventScroll: true });
    window.scrollTo(0, 0);
  }
}

function refresh() {
  show(view, false);
}

function say(words) {
  $("said").textContent = words;
}

// ------------------------------------------------------------ the list of sheets, and finding

function renderHome() {
  const done = doneNow();
  $("home-title").textContent = t("plan", { plan: DATA.plan });
  $("list").replaceChildren(
    ...DATA.sheets.map((sheet, i) => {
      const count = sheet.steps.length;
      const steps = stepsDone(sheet, done);
      const isCut = done.cut.has(sheet.number);
      let words = t("sheet_open");
      if (steps || place(sheet)) words = t("steps_done", { done: steps, count });
      if (isCut) words = t("sheet_cut");
      const row = button("", () => openSheet(i), { class: `sheet-row${isCut ? " done" : ""}` });
      row.append(
        make("strong", {}, t("sheet", { number: sheet.number })),
        make("span", { class: "facts" }, [...sheet.facts, sheet.source].join(" · ")),
        make("span", { class: "state" }, words),
      );
      const bar = make("span", { class: "bar", "aria-hidden": "true" }, make("span"));
      bar.firstChild.style.width = `${isCut ? 100 : count ? (100 * steps) / count : 0}%`;
      row.append(bar);
      return make("li", {}, row);
    }),
  );
  renderFound();
}

function plain(text) {
  return text.normalize("NFKC").toLowerCase();
}

const searchable = DATA.panels.map((p) => plain(`${p[0]} ${p[1]} ${p[2]}`));

function renderFound() {
  const words = plain($("wanted").value).split(/\s+/).filter(Boolean);
  if (!words.length) {
    $("found").replaceChildren();
    return;
  }
  const hits = [];
  searchable.forEach((text, i) => {
    if (words.every((word) => text.includes(word))) hits.push(i);
  });
  const done = doneNow();
  let told = t("found_none");
  if (hits.length) told = t("found_some", { count: hits.length });
  if (hits.length > SHOWN) told = t("found_more", { count: hits.length, shown: SHOWN });
  $("found").replaceChildren(
    make("p", {}, told),
    make("ul", { class: "panel-list" }, ...hits.slice(0, SHOWN).map((i) => panelRow(i, done, true))),
  );
}

// a panel with what is known of it, a way to its step, and a way to say that it broke
function panelRow(i, done, withWay) {
  const [id, order, panel, size, sheetIndex, step, notes] = DATA.panels[i];
  const sheet = DATA.sheets[sheetIndex];
  const facts = [size, notes];
  if (done.broken.has(i)) facts.push(t("is_broken", { work: workWords(done.broken.get(i)) }));
  else if (withWay && isOff(i, done)) facts.push(t("is_off"));
  const row = make(
    "li", { class: done.broken.has(i) ? "is-broken" : "" },
    make("span", { class: "name" }, make("strong", {}, name(order)), " ", name(panel)),
    make("span", { class: "facts" }, facts.filter(Boolean).join(" · ")),
  );
  if (withWay) {
    const words = t(step ? "go_to" : "go_to_sheet", { number: sheet.number, step });
    row.append(button(words, () => openSheet(sheetIndex, step), { "aria-label": `${words}: ${id}` }));
  }
  if (!done.broken.has(i)) row.append(brokenButton(i));
  return row;
}

// ------------------------------------------------------------ broken, kept, undone

function workWords(work) {
  const found = DATA.at_steps.find((a) => a[0] === work);
  return found ? found[1] : work;
}

function brokenButton(i) {
  const [id] = DATA.panels[i];
  return button(t("broken"), () => askBroken(i), { class: "quiet", "aria-label": `${t("broken")} ${id}` });
}

function askBroken(i) {
  const [id, order, panel, , sheet] = DATA.panels[i];
  const dialog = $("ask");
  $("ask-title").textContent = t("broken_what", { what: `${order} ${panel}` });
  $("ask-words").textContent = t("broken_when");
  const answer = (work) => () => {
    dialog.close();
    happened("panel broken", { sheet: DATA.sheets[sheet].number, panel: id, at_step: work });
    tellLast();
  };
  $("ask-answers").replaceChildren(
    ...DATA.at_steps.map(([work, words]) => button(words, answer(work), { "data-work": work })),
    button(t("cancel"), () => dialog.close(), { class: "quiet" }),
  );
  dialog.showModal();
}

function markOffcut(i, isKept) {
  const [number, , sheet] = DATA.offcuts[i];
  const what = isKept ? "offcut kept" : "offcut thrown";
  happened(what, { sheet: DATA.sheets[sheet].number, offcut: number });
  tellLast();
}

function offcutRow(i, done) {
  const [number, size] = DATA.offcuts[i];
  const choice = (words, value) => button(words, () => markOffcut(i, value), {
    "aria-pressed": String(done.kept.get(i) === value), "aria-label": `${words}: ${number}`,
  });
  return make(
    "li", { class: "offcut-row" },
    make("span", { class: "name" }, t("offcut", { number })), make("span", { class: "facts" }, size),
    make("span", { class: "choice" }, choice(t("kept"), true), choice(t("thrown"), false)),
  );
}

function eventWords(event) {
  if (event.what === "sheet cut") return t("did_cut", { number: event.sheet });
  if (event.what === "panel broken") {
    return t("did_break", { panel: event.panel, work: workWords(event.at_step) });
  }
  if (event.what === "offcut kept") return t("did_keep", { number: event.offcut });
  if (event.what === "offcut thrown") return t("did_throw", { number: event.offcut });
  return event.what;
}

function tellLast() {
  refresh();
  const [last] = standing();
  if (last) say(eventWords(last));
}

function undoOne(event) {
  undo(event);
  refresh();
  say(t("undone", { what: eventWords(event) }));
}

// ------------------------------------------------------------ the walk through a sheet

function openSheet(index, step = -1) {
  sheetAt = index;
  const sheet = DATA.sheets[index];
  state.open = index;
  if (step > 0) {
    state.places[sheet.number] = cards(sheet).findIndex((c) => c.kind === "step" && c.before === step - 1);
  }
  keep();
  show("work");
  if (navigator.wakeLock) navigator.wakeLock.request("screen").catch(() => {});
}

function go(by) {
  const sheet = DATA.sheets[sheetAt];
  const at = place(sheet);
  const last = cards(sheet).length - 1;
  if (by > 0 && at === last) {
    if (!doneNow().cut.has(sheet.number)) {
      happened("sheet cut", { sheet: sheet.number });
      tellLast();
      return;
    }
    const done = doneNow();
    const open = DATA.sheets.findIndex((s, i) => i > sheetAt && !done.cut.has(s.number));
    const first = open < 0 ? DATA.sheets.findIndex((s) => !done.cut.has(s.number)) : open;
    if (first < 0) show("home");
    else openSheet(first);
    return;
  }
  state.places[sheet.number] = Math.min(Math.max(at + by, 0), last);
  keep();
  renderWork();
  renderTop();
}

function renderWork() {
  const sheet = DATA.sheets[sheetAt];
  const list = cards(sheet);
  const at = place(sheet);
  const card = list[at];
  const done = doneNow();
  const title = t("sheet_of", { number: sheet.number, count: DATA.sheets.length });
  if (drawing.sheet !== sheet) {
    $("work-title").textContent = title;
    $("facts").textContent = [...sheet.facts, sheet.stock].join(" · ");
    renderSteps(sheet);
    renderSmall(sheet);
  }
  drawing.show(sheet, title);
  const body = $("card-body");
  body.className = card.kind;
  const pages = { start: startCard, placement: placementCard, step: stepCard, end: endCard };
  const heading = pages[card.kind](sheet, card, done, body);
  $("card-title").textContent = heading;
  $("back").disabled = at === 0;
  const isCut = done.cut.has(sheet.number);
  let word = t("next");
  if (card.kind === "start") word = t("start");
  if (card.kind === "end") word = isCut ? t("next_sheet") : t("mark_cut");
  if (card.kind === "end" && done.cut.size === DATA.sheets.length) word = t("to_sheets");
  $("next-word").textContent = word;
  $("how-far").max = list.length - 1;
  $("how-far").value = at;
  $("close").setAttribute("aria-pressed", String(preferences.close));
  const [last] = standing();
  $("undo").textContent = last ? t("undo", { what: eventWords(last) }) : t("nothing_to_undo");
  $("undo").disabled = !last;
  for (const row of $("steps").children) {
    const here = Number(row.dataset.before) === card.before && card.kind !== "start" && card.kind !== "end";
    row.classList.toggle("here", here);
    row.firstChild.setAttribute("aria-current", here ? "step" : "false");
  }
  renderOverlay(sheet, card);
  if (at !== renderWork.said || sheet !== renderWork.sheet) say(`${heading}. ${spoken(body)}`);
  renderWork.said = at;
  renderWork.sheet = sheet;
}

// the card as one sentence for those who hear it
function spoken(body) {
  return [...body.querySelectorAll("[data-say]")].map((n) => n.dataset.say || n.textContent).join(". ");
}

function renderOverlay(sheet, card) {
  const { step, placement } = card;
  const piece = placement ? placement.piece : step ? step.piece : null;
  drawing.view(preferences.close && piece !== null ? piece : null);
  const gone = [];
  for (let i = 0; i < card.before; i++) {
    for (const part of sheet.steps[i].parts) if (part[4] !== "on") gone.push(part[0]);
  }
  if (card.kind === "end") drawing.overlay({});
  else if (card.kind === "start") drawing.overlay({ piece: 0, gone, waiting: [] });
  else if (card.kind === "placement") {
    drawing.overlay({
      piece, gone, waiting: step.waiting || [], lines: placement.lines,
      marks: placement.lines.map((line, i) => [line, placement.figures[i]]), dims: [[placement.dim, ""]],
    });
  } else {
    drawing.overlay({
      piece, gone, waiting: step.waiting || [], lines: [step.line],
      parts: step.parts.map((part) => [part[0], part[1], part[4]]),
      dims: step.dim ? [[step.dim, step.figure]] : step.marks.filter((m) => m[0]).map((m) => [m[3], m[0]]),
    });
  }
}

function figure(text, properties = {}) {
  const node = make("p", { class: "figure", ...properties }, make("span", {}, text), make("small", {}, DATA.unit));
  node.style.setProperty("--letters", String(Math.max(text.length, 3)));
  return node;
}

function heldLines(words, step) {
  const tags = ["turn", "take", "stays"].filter((key) => step[key]).map((key) => t(key));
  if (step.waiting) tags.push(t("waiting", { count: step.waiting.length }));
  return [
    make("p", { class: "hand", "data-say": true }, words, ", ", step.size),
    make(
      "p", { class: step.heavy ? "lift heavy" : "lift" }, make("strong", { class: "mass", "data-say": true }, step.mass), " ",
      make("span", { "data-say": true }, step.lift),
    ),
    make("ul", { class: "tags" }, ...tags.map((tag) => make("li", { "data-say": true }, tag))),
  ];
}

function mindLines(step) {
  const lines = (step.minds || []).map((i) => make("li", { "data-say": true }, DATA.minds[i]));
  return lines.length ? make("ul", { class: "minds" }, ...lines) : "";
}

function startCard(sheet, card, done, body) {
  const minds = [sheet.steps.length ? sheet.how : t("no_steps")];
  body.replaceChildren(
    make("p", { class: "stock", "data-say": true }, sheet.stock),
    make("p", { class: "source", "data-say": true }, sheet.source),
    make("ul", { class: "big-facts" }, ...sheet.facts.map((fact) => make("li", { "data-say": true }, fact))),
    ...minds.map((line) => make("p", { class: "how", "data-say": true }, line)),
    sheet.marks ? make("p", { class: "how" }, sheet.marks) : "",
    make("ul", { class: "minds" }, ...[...sheet.warnings, ...DATA.cautions].map((line) => make("li", {}, line))),
  );
  return t("lay_up");
}

function placementCard(sheet, card, done, body) {
  const { placement, step } = card;
  body.replaceChildren(
    ...heldLines(t("lay_down", { hand: step.hand }), { ...step, stays: 0 }),
    make("p", { class: "verb", "data-say": true }, t("mark_at")),
    make("p", { class: "edge", "data-say": true }, placement.from),
    make(
      "ol", { class: "figures" },
      ...placement.figures.map((text) => make("li", { "data-say": `${text} ${DATA.unit}` }, figure(text))),
    ),
    make("p", { class: "score" }, t("each_score", { length: placement.score })),
    mindLines(step),
  );
  return t("placement", { step: step.step });
}

function stepCard(sheet, card, done, body) {
  const { step } = card;
  const scored = sheet.habit === "machine" || step.placement !== undefined;
  // what was turned or taken up for a placement lies there already
  const laid = step.first ? { ...step, turn: 0, take: 0 } : step;
  const nodes = heldLines(t("hand", { hand: step.hand }), laid);
  if (step.figure !== undefined) {
    nodes.push(
      make("p", { class: "verb", "data-say": true }, scored ? t("break_at") : t("score_at")),
      figure(step.figure, { id: "measure", "data-say": `${step.figure} ${DATA.unit}` }),
      make("p", { class: "edge", "data-say": true }, step.from),
    );
  } else {
    nodes.push(make("p", { class: "verb", "data-say": true }, t("marks_at")));
    nodes.push(make("ol", { class: "figures marks" }, ...step.marks.map(([text, words, check]) => make(
      "li", {}, text ? figure(text) : make("p", { class: "figure corner" }, t("corner")),
      make("p", { class: "edge", "data-say": true }, words),
      check ? make("p", { class: "check" }, t("check", { measure: check })) : "",
    ))));
    if (step.square) nodes.push(make("p", { class: "check" }, t("check", { measure: step.square })));
  }
  nodes.push(make("p", { class: "score" }, step.score));
  nodes.push(mindLines(step));
  nodes.push(make("ul", { class: "parts" }, ...step.parts.map((part) => partRow(part, done))));
  body.replaceChildren(...nodes);
  return t("step", { step: step.step, count: sheet.steps.length });
}

function partRow([, where, what, size, kind, subject, error], done) {
  const row = make(
    "li", { class: `part ${kind}` },
    make("span", { class: `where ${kind}`, "data-say": `${where}: ${what}` }, where),
    make("span", { class: "what" }, name(what)),
    make("span", { class: "facts" }, [size, error, kind === "panel" && DATA.panels[subject][6]].filter(Boolean).join(" · ")),
  );
  if (kind === "panel") {
    const work = done.broken.get(subject);
    if (work) row.append(make("span", { class: "notes" }, t("is_broken", { work: workWords(work) })));
    else row.append(brokenButton(subject));
  }
  if (kind === "offcut" && subject >= 0) {
    const [number] = DATA.offcuts[subject];
    const choice = (words, value) => button(words, () => markOffcut(subject, value), {
      "aria-pressed": String(done.kept.get(subject) === value), "aria-label": `${words}: ${number}`,
    });
    row.append(make("span", { class: "notes" }, t("write_on", { number })));
    row.append(make("span", { class: "choice" }, choice(t("kept"), true), choice(t("thrown"), false)));
  }
  return row;
}

function endCard(sheet, card, done, body) {
  const isCut = done.cut.has(sheet.number);
  const nodes = [];
  if (isCut) nodes.push(button(t("save_now"), saveNow, { class: "strong", id: "save-now" }));
  if (sheet.offcuts.length) {
    nodes.push(make("h3", {}, t("offcuts_here")));
    nodes.push(make("ul", { class: "panel-list" }, ...sheet.offcuts.map((i) => offcutRow(i, done))));
  }
  if (sheet.pockets.length) {
    nodes.push(make("h3", {}, t("pockets_here")));
    nodes.push(make("ul", { class: "pockets" }, ...sheet.pockets.map((line) => make("li", {}, line))));
  }
  nodes.push(make("h3", {}, t("panels_here")));
  nodes.push(make("ul", { class: "panel-list" }, ...sheet.panels.map((i) => panelRow(i, done, false))));
  body.replaceChildren(...nodes);
  return isCut ? t("all_done_cut") : t("all_done");
}

function renderSteps(sheet) {
  $("steps").replaceChildren(...sheet.steps.map((step, i) => {
    const how = step.figure === undefined
      ? step.marks.map((mark) => mark[1]).join("; ")
      : `${step.figure}${DATA.unit === '"' ? "" : " "}${DATA.unit} ${step.from}`;
    const row = button("", () => openSheet(sheetAt, i + 1));
    row.append(
      make("strong", {}, String(step.step)), " ", `${step.hand}, ${step.size}, ${step.mass}, ${step.lift}: `,
      make("b", {}, how), `; ${step.score}; `, name(step.parts.map((p) => `${p[1]}: ${p[2]}, ${p[3]}`).join("; ")),
    );
    const minds = (step.minds || []).map((k) => DATA.minds[k]).join("; ");
    if (minds) row.append(make("em", {}, ` ! ${minds}`));
    return make("li", { "data-before": i }, row);
  }));
}

function renderSmall(sheet) {
  const lines = sheet.drawing.texts.filter((x) => x[0] === "notes" && /^\(\d+\) /.test(x[1])).map((x) => x[1]);
  $("small").hidden = !lines.length;
  $("small").querySelector("ul").replaceChildren(...lines.map((line) => make("li", {}, line)));
}

// ------------------------------------------------------------ the record

function saveNow() {
  saveRecord();
  refresh();
  say(t("saved"));
}

function renderRecord() {
  const code = currentCode();
  const count = state.events.length - state.saved;
  let words = t("nothing_yet");
  if (state.events.length) words = count > 0 ? t("not_saved", { count }) : t("saved");
  $("record-state").textContent = words;
  $("code").textContent = code;
  $("device").value = preferences.device;
  const svg = $("qr");
  svg.replaceChildren();
  const grid = qrCode(code);
  svg.setAttribute("aria-label", grid ? t("code_label", { code }) : t("code_too_long"));
  if (grid) {
    const side = grid.size + 8;
    svg.setAttribute("viewBox", `0 0 ${side} ${side}`);
    svgNode("rect", { width: side, height: side, fill: "#ffffff" }, svg);
    svgNode("path", { d: qrPath(grid), transform: "translate(4 4)", fill: "#000000", "shape-rendering": "crispEdges" },
      svg);
  } else {
    svg.setAttribute("viewBox", "0 0 100 20");
  }
  const gone = undone();
  $("events").replaceChildren(...[...state.events].reverse().filter((e) => e.what !== "undone").map((event) => {
    const isGone = gone.has(event.id);
    const row = make(
      "li", { class: isGone ? "was-undone" : "" },
      make("time", { datetime: event.at }, String(event.at).slice(0, 16).replace("T", " ")),
      make("span", { class: "name" }, name(eventWords(event))),
    );
    if (isGone) row.append(make("span", { class: "facts" }, t("was_undone")));
    else row.append(button(t("undo_this"), () => undoOne(event), { "aria-label": t("undo", { what: eventWords(event) }) }));
    return row;
  }));
}

// ------------------------------------------------------------ light and dark, keys, start

function applyTheme() {
  document.documentElement.dataset.theme = preferences.theme;
  $("theme").textContent = t(`theme_${preferences.theme}`);
}

function keyPressed(event) {
  if (view !== "work" || $("ask").open || event.altKey || event.ctrlKey || event.metaKey) return;
  const inField = event.target.closest("input, textarea, select, summary");
  if (inField) return;
  const onButton = event.target.closest("button");
  const ways = { ArrowRight: 1, PageDown: 1, ArrowLeft: -1, PageUp: -1 };
  let by = ways[event.key] || 0;
  // a button that has the focus is pressed by the space bar itself
  if (event.key === " " && !onButton) by = event.shiftKey ? -1 : 1;
  if (!by) return;
  event.preventDefault();
  // a key that is held down must not tell that a sheet is cut
  if (!event.repeat) go(by);
}

function start() {
  for (const node of document.querySelectorAll("[data-text]")) node.textContent = t(node.dataset.text);
  for (const node of document.querySelectorAll("[data-label]")) node.setAttribute("aria-label", t(node.dataset.label));
  $("plan").textContent = t("plan", { plan: DATA.plan });
  $("cautions").replaceChildren(
    make("h2", {}, t("cautions")), make("ul", {}, ...DATA.cautions.map((line) => make("li", {}, line))),
  );
  if (DATA.left_out.length) {
    $("left-out").replaceChildren(
      make("h2", {}, t("left_out")),
      make("ul", {}, ...DATA.left_out.map(([panel, why]) => make("li", {}, name(panel), `: ${why}`))),
    );
  }
  $("to-home").addEventListener("click", () => show("home"));
  $("to-record").addEventListener("click", () => show("record"));
  $("theme").addEventListener("click", () => {
    const order = ["auto", "light", "dark"];
    preferences.theme = order[(order.indexOf(preferences.theme) + 1) % 3];
    keepPreferences();
    applyTheme();
  });
  $("back").addEventListener("click", () => go(-1));
  $("next").addEventListener("click", () => go(1));
  $("close").addEventListener("click", () => {
    preferences.close = !preferences.close;
    keepPreferences();
    renderWork();
  });
  $("all-steps").addEventListener("click", () => {
    $("steps").hidden = !$("steps").hidden;
    $("all-steps").setAttribute("aria-expanded", String(!$("steps").hidden));
    if (!$("steps").hidden) $("steps").querySelector(".here")?.scrollIntoView({ block: "nearest" });
  });
  $("undo").addEventListener("click", () => {
    const [last] = standing();
    if (last) undoOne(last);
  });
  $("save").addEventListener("click", saveNow);
  $("find").addEventListener("submit", (event) => event.preventDefault());
  $("wanted").addEventListener("input", renderFound);
  $("device").addEventListener("change", () => {
    preferences.device = $("device").value.trim();
    keepPreferences();
  });
  document.addEventListener("keydown", keyPressed);
  window.addEventListener("resize", () => {
    if (view === "work") renderOverlay(DATA.sheets[sheetAt], cards(DATA.sheets[sheetAt])[place(DATA.sheets[sheetAt])]);
  });
  window.addEventListener("beforeprint", () => {
    if (drawing.sheet) drawing.wholeForPaper(true);
  });
  window.addEventListener("afterprint", () => {
    if (drawing.sheet) drawing.wholeForPaper(false);
  });
  // another window of the same page
  window.addEventListener("storage", (event) => {
    if (event.key !== KEY || event.newValue === null) return;
    state = loaded();
    refresh();
  });
  window.addEventListener("beforeunload", (event) => {
    if (!storageWorks && unsaved()) event.preventDefault();
  });
  if (!["auto", "light", "dark"].includes(preferences.theme)) preferences.theme = "auto";
  applyTheme();
  if (state.open >= 0 && state.open < DATA.sheets.length) openSheet(state.open);
  else show("home", false);
}

start();
globalThis.tablePage = { recordCode, qrCode, currentCode, recordFile };
