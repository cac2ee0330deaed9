// The record view, light and dark, keys, and the start.

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
  $("who").value = preferences.who;
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
  if (view !== "work" || marking || $("ask").open || event.altKey || event.ctrlKey || event.metaKey) return;
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
  $("tally").replaceChildren(
    ...["tally_panels", "tally_sheets", "tally_cullet", "tally_broken"].map(
      (key) => make("div", { id: key }, make("dt", {}, t(key)), make("dd", {})),
    ),
  );
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
  $("mark-flaw").addEventListener("click", startMarking);
  $("drawing").addEventListener("pointerdown", markDown);
  $("drawing").addEventListener("pointermove", markMove);
  $("drawing").addEventListener("pointerup", markUp);
  $("drawing").addEventListener("pointercancel", markUp);
  document.addEventListener("keydown", markKey);
  $("save").addEventListener("click", saveNow);
  $("find").addEventListener("submit", (event) => event.preventDefault());
  $("wanted").addEventListener("input", renderFound);
  for (const key of ["device", "who"]) {
    $(key).addEventListener("change", () => {
      preferences[key] = $(key).value.trim();
      keepPreferences();
    });
  }
  document.addEventListener("keydown", keyPressed);
  window.addEventListener("resize", () => {
    measureTop();
    if (view === "work" && marking) renderMark();
    else if (view === "work") renderOverlay(DATA.sheets[sheetAt], cards(DATA.sheets[sheetAt])[place(DATA.sheets[sheetAt])]);
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

// what flaws [x, y, width, height in nm, kind] hit on a sheet of which these steps are done, counted from 1
function hitsOf(index, flaws, steps) {
  const done = new Set(steps.map((step) => step - 1));
  const sheet = DATA.sheets[index];
  const found = flawHits(sheet, flaws.map(([x, y, w, h, kind]) => ({ box: [x, y, w, h], kind, done })), done);
  const rising = (set) => [...set].sort((a, b) => a - b);
  return {
    panels: rising(found.panels).map((p) => DATA.panels[p][0]),
    cuts: rising(found.cuts).map((i) => i + 1),
    held: rising(found.held).map((i) => i + 1),
  };
}

start();
globalThis.tablePage = { recordCode, qrCode, currentCode, recordFile, hitsOf };
