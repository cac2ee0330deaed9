// The walk through a sheet, card by card.

function openSheet(index, step = -1) {
  sheetAt = index;
  const sheet = DATA.sheets[index];
  state.open = index;
  marking = null;
  document.body.classList.remove("marking");
  if (step > 0) {
    const at = cards(sheet).findIndex((c) => c.kind === "step" && c.before === step - 1);
    const done = doneNow();
    // who looks at a step that is held back has done no less for it
    if (heldBack(sheet, done).held.has(step - 1)) setPlace(sheet, at, doneSteps(sheet, done));
    else walkTo(sheet, at);
  }
  keep();
  show("work");
  if (navigator.wakeLock) navigator.wakeLock.request("screen").catch(() => {});
}

// to another card: what lies between is done on the way on, and open again on the way back, but for what is held back
function walkTo(sheet, at) {
  const done = doneNow();
  const { held } = heldBack(sheet, done);
  const steps = doneSteps(sheet, done);
  const [from, to] = [cards(sheet)[place(sheet)].before, cards(sheet)[at].before];
  for (let i = from; i < to; i++) if (!held.has(i)) steps.add(i);
  for (let i = to; i < from; i++) steps.delete(i);
  setPlace(sheet, at, steps);
}

function go(by) {
  const sheet = DATA.sheets[sheetAt];
  const at = place(sheet);
  const list = cards(sheet);
  const last = list.length - 1;
  if (by > 0 && at === last) {
    const now = doneNow();
    if (!now.cut.has(sheet.number) && !mustReplan(sheet, now)) {
      happened("sheet cut", { sheet: sheet.number });
      tellLast();
      return;
    }
    const done = doneNow();
    const waits = (s) => !done.cut.has(s.number) && !(s === sheet || mustReplan(s, done));
    const open = DATA.sheets.findIndex((s, i) => i > sheetAt && waits(s));
    const first = open < 0 ? DATA.sheets.findIndex(waits) : open;
    if (first < 0) show("home");
    else openSheet(first);
    return;
  }
  const done = doneNow();
  const { held } = heldBack(sheet, done);
  const steps = doneSteps(sheet, done);
  let to = Math.min(Math.max(at + by, 0), last);
  // on the way back only what is held back is passed over
  const over = () => passedOver(sheet, list[to], by > 0 ? steps : new Set(), held);
  while (to > 0 && to < last && over()) to += by;
  walkTo(sheet, to);
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
  const count = DATA.sheets.length;
  const inOrder = DATA.sheets.every((s) => s.number <= count); // a plan that follows another one leaves numbers out
  const title = t(inOrder ? "sheet_of" : "sheet", { number: sheet.number, count });
  if (drawing.sheet !== sheet) {
    $("work-title").textContent = title;
    $("facts").textContent = [...sheet.facts, sheet.stock].join(" · ");
    renderSteps(sheet);
    renderSmall(sheet);
  }
  drawing.show(sheet, title);
  const body = $("card-body");
  body.className = marking ? "mark" : card.kind;
  const pages = { start: startCard, placement: placementCard, step: stepCard, end: endCard };
  const heading = (marking ? markCard : pages[card.kind])(sheet, card, done, body);
  $("card-title").textContent = heading;
  const isCut = done.cut.has(sheet.number);
  const back = heldBack(sheet, done);
  const replan = mustReplan(sheet, done);
  $("back").disabled = at === 0;
  $("walk").hidden = Boolean(marking);
  $("mark-flaw").hidden = isCut || back.all || Boolean(marking);
  let word = t("next");
  if (card.kind === "start") word = t("start");
  if (card.kind === "end") word = isCut || replan ? t("next_sheet") : t("mark_cut");
  if (card.kind === "end" && (isCut || replan)) {
    const more = DATA.sheets.some((s) => s !== sheet && !done.cut.has(s.number) && !mustReplan(s, done));
    if (!more) word = t("to_sheets");
  }
  $("next-word").textContent = word;
  $("how-far").max = list.length - 1;
  $("how-far").value = at;
  $("close").setAttribute("aria-pressed", String(preferences.close));
  const [last] = standing();
  $("undo").textContent = last ? t("undo", { what: eventWords(last) }) : t("nothing_to_undo");
  $("undo").disabled = !last;
  markStep(card.step ? card.before : -1);
  for (const row of $("steps").children) {
    const isHeld = back.held.has(Number(row.dataset.before));
    row.classList.toggle("held", isHeld);
    if (isHeld !== Boolean(row.querySelector(".held-word"))) {
      if (isHeld) row.firstChild.prepend(make("strong", { class: "held-word" }, t("held"), " "));
      else row.querySelector(".held-word").remove();
    }
  }
  if (!marking) renderOverlay(sheet, card);
  if (at !== renderWork.said || sheet !== renderWork.sheet) say(`${heading}. ${spoken(body)}`);
  renderWork.said = at;
  renderWork.sheet = sheet;
}

// where the walk stands in the list of all steps
function markStep(index) {
  const here = $("steps").querySelector(".here");
  const row = index < 0 ? null : $("steps").children[index];
  if (here === row) return;
  if (here) {
    here.classList.remove("here");
    here.firstChild.removeAttribute("aria-current");
  }
  if (row) {
    row.classList.add("here");
    row.firstChild.setAttribute("aria-current", "step");
  }
}

// the card as one sentence for those who hear it
function spoken(body) {
  return [...body.querySelectorAll("[data-say]")].map((n) => n.dataset.say || n.textContent).join(". ");
}

function renderOverlay(sheet, card, flaw = null) {
  const { step, placement } = card;
  const piece = placement ? placement.piece : step ? step.piece : null;
  drawing.view(preferences.close && piece !== null ? piece : null);
  const done = doneNow();
  const gone = [];
  for (const i of doneSteps(sheet, done)) {
    for (const part of sheet.steps[i].parts) if (part[4] !== "on") gone.push(part[0]);
  }
  const back = heldBack(sheet, done, flaw ? [flaw] : []);
  const pieceOf = new Map(sheet.exact.panels.map((p) => [p[0], p[1]]));
  const flaws = {
    marks: back.flaws.filter((f) => f.box).map((f) => [f.box, f === flaw]),
    hit: [...back.panels].map((p) => pieceOf.get(p)),
    crossed: [...back.cuts].map((i) => sheet.steps[i].line),
  };
  if (marking) drawing.overlay({ piece: piece === null ? 0 : piece, gone, waiting: [], flaws });
  else if (card.kind === "end") drawing.overlay({ flaws });
  else if (card.kind === "start") drawing.overlay({ piece: 0, gone, waiting: [], flaws });
  else if (card.kind === "step" && back.held.has(card.before)) {
    drawing.overlay({ piece, gone, waiting: step.waiting || [], flaws });
  } else if (card.kind === "placement") {
    const stopped = notScored(sheet, step, back.held);
    const scored = placement.lines.map((line, i) => [line, placement.figures[i]]).filter((x) => !stopped.has(x[1]));
    drawing.overlay({
      flaws, piece, gone, waiting: step.waiting || [], lines: scored.map((x) => x[0]), marks: scored, dims: [[placement.dim, ""]],
    });
  } else {
    drawing.overlay({
      flaws, piece, gone, waiting: step.waiting || [], lines: [step.line],
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
  const open = !done.cut.has(sheet.number) && !heldBack(sheet, done).all;
  const flaw = open ? button(t("flawed"), startMarking, { class: "quiet", id: "flawed" }) : "";
  body.replaceChildren(
    heldNotice(sheet, done, true),
    make("p", { class: "stock", "data-say": true }, sheet.stock),
    make("p", { class: "source", "data-say": true }, sheet.source),
    make("ul", { class: "big-facts" }, ...sheet.facts.map((fact) => make("li", { "data-say": true }, fact))),
    ...minds.map((line) => make("p", { class: "how", "data-say": true }, line)),
    sheet.marks ? make("p", { class: "how" }, sheet.marks) : "",
    knownFlaws(sheet),
    flaw,
    make("ul", { class: "minds" }, ...[...sheet.warnings, ...DATA.cautions].map((line) => make("li", {}, line))),
  );
  return t("lay_up");
}

// figures of a placement whose steps are held back
function notScored(sheet, step, held) {
  return new Set(sheet.steps.filter((s, i) => s.placement === step.placement && held.has(i)).map((s) => s.figure));
}

function placementCard(sheet, card, done, body) {
  const { placement, step } = card;
  const stopped = notScored(sheet, step, heldBack(sheet, done).held);
  body.replaceChildren(
    heldNotice(sheet, done, false),
    ...heldLines(t("lay_down", { hand: step.hand }), { ...step, stays: 0 }),
    make("p", { class: "verb", "data-say": true }, t("mark_at")),
    make("p", { class: "edge", "data-say": true }, placement.from),
    make(
      "ol", { class: placement.figures.length > 4 ? "figures many" : "figures" },
      ...placement.figures.map((text) => (stopped.has(text)
        ? make("li", { class: "held", "data-say": `${text}: ${t("not_scored")}` }, figure(text), t("not_scored"))
        : make("li", { "data-say": `${text} ${DATA.unit}` }, figure(text)))),
    ),
    make("p", { class: "score" }, t("each_score", { length: placement.score })),
    mindLines(step),
  );
  return t("placement", { step: step.step });
}

function stepCard(sheet, card, done, body) {
  const { step } = card;
  const back = heldBack(sheet, done);
  if (back.held.has(card.before)) {
    body.replaceChildren(
      make("p", { class: "verb held-word", "data-say": true }, t("step_held")),
      heldNotice(sheet, done, true),
      make("ul", { class: "parts" }, ...step.parts.map((part) => partRow(part, done))),
    );
    return t("step", { step: step.step, count: sheet.steps.length });
  }
  // what was turned or taken up for a placement lies there already
  const laid = step.first ? { ...step, turn: 0, take: 0 } : step;
  const nodes = [heldNotice(sheet, done, false), ...heldLines(t("hand", { hand: step.hand }), laid)];
  if (step.figure !== undefined) {
    nodes.push(
      make("p", { class: "verb", "data-say": true }, t(step.scored ? "break_at" : "score_at")),
      figure(step.figure, { id: "measure", "data-say": `${step.figure} ${DATA.unit}` }),
      make("p", { class: "edge", "data-say": true }, step.from),
    );
  } else {
    nodes.push(make("p", { class: "verb", "data-say": true }, t(step.scored ? "break_at" : "marks_at")));
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
  nodes.push(...rackNodes(done, false));
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
    const place = DATA.panels[subject][7];
    if (place) row.append(make("span", { class: "place", "data-say": true }, "→ ", name(place)));
    const hit = heldBack(DATA.sheets[DATA.panels[subject][4]], done).panels.has(subject);
    if (hit) row.append(make("span", { class: "place held-word", "data-say": true }, t("is_hit")));
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
  const replan = mustReplan(sheet, done);
  const nodes = [heldNotice(sheet, done, true)];
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
  if (replan) return t("done_but_held");
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
