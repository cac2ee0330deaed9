// The sheet, drawn once from its scene; over it what belongs to the step: piece in hand, score, measure, parts.

const SVG = "http://www.w3.org/2000/svg";

function svgNode(name, attributes, parent) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes || {})) node.setAttribute(key, value);
  if (parent) parent.append(node);
  return node;
}

function outlinePath(numbers) {
  if (numbers.length === 4) {
    const [x, y, w, h] = numbers;
    return `M${x} ${y}h${w}v${h}h${-w}z`;
  }
  let path = "";
  for (let i = 0; i < numbers.length; i += 2) path += `${i ? "L" : "M"}${numbers[i]} ${numbers[i + 1]}`;
  return path + "z";
}

function outlineBox(numbers) {
  if (numbers.length === 4) return numbers;
  const xs = numbers.filter((_, i) => i % 2 === 0);
  const ys = numbers.filter((_, i) => i % 2 === 1);
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  return [x, y, Math.max(...xs) - x, Math.max(...ys) - y];
}

class Drawing {
  constructor(svg) {
    this.svg = svg;
    this.sheet = null;
  }

  // the scene of a sheet; nothing is drawn again while it stays the same
  show(sheet, title) {
    if (this.sheet === sheet) return;
    this.sheet = sheet;
    const { svg } = this;
    const scene = sheet.drawing;
    svg.replaceChildren();
    svgNode("title", {}, svg).textContent = title;
    const pitch = scene.grain * 0.7;
    const hatch = svgNode("pattern", {
      id: "hatch", width: pitch, height: pitch, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)",
    }, svgNode("defs", {}, svg));
    svgNode("line", { x1: 0, y1: 0, x2: 0, y2: pitch, class: "hatch" }, hatch);
    const stripes = svgNode("pattern", {
      id: "stripes", patternUnits: "userSpaceOnUse", patternTransform: "rotate(-45)",
    }, svg.querySelector("defs"));
    svgNode("line", { x1: 0, y1: 0, x2: 0, y2: 1e6, class: "stripe" }, stripes);
    const dots = svgNode("pattern", {
      id: "dots", width: pitch * 1.4, height: pitch * 1.4, patternUnits: "userSpaceOnUse",
    }, svg.querySelector("defs"));
    svgNode("circle", { cx: pitch * 0.7, cy: pitch * 0.7, r: pitch * 0.12, class: "dot" }, dots);
    const base = svgNode("g", { "aria-hidden": "true" }, svg);
    for (const [layer, path] of scene.tints) {
      svgNode("path", { class: `tint ${layer}`, d: path }, base);
      if (layer === "cullet") svgNode("path", { fill: "url(#hatch)", d: path }, base);
      if (layer === "offcut") svgNode("path", { fill: "url(#dots)", d: path }, base);
    }
    for (const [layer, path] of scene.lines) svgNode("path", { class: `line ${layer}`, d: path }, base);
    for (const [layer, path] of scene.key) svgNode("path", { class: `line key ${layer}`, d: path }, base);
    for (const [layer, cx, cy, r] of scene.rings) svgNode("circle", { class: `ring ${layer}`, cx, cy, r }, base);
    for (const [layer, text, x, y, height, anchor, turn = 0, drop = 0] of scene.texts) {
      const node = svgNode("text", {
        class: `words ${layer}`, x, y, "font-size": Math.round(height / 0.72),
        "text-anchor": ["start", "middle", "end"][anchor],
      }, base);
      if (drop) node.setAttribute("dy", drop);
      if (turn) node.setAttribute("transform", `rotate(${turn} ${x} ${y})`);
      node.textContent = text;
    }
    this.over = svgNode("g", { class: "over", "aria-hidden": "true" }, svg);
    this.view(null);
  }

  // the whole sheet, or close to a piece
  view(piece) {
    let [x, y, w, h] = this.sheet.drawing.view;
    if (piece !== null) {
      const [px, py, pw, ph] = outlineBox(this.sheet.pieces[piece]);
      // never so close that nothing beside it is seen
      const room = Math.max(pw, ph) * 0.12 + this.sheet.drawing.grain * 2;
      const [across, down] = [Math.max(room, (w * 0.3 - pw) / 2), Math.max(room, (h * 0.3 - ph) / 2)];
      const [right, low] = [Math.min(x + w, px + pw + across), Math.min(y + h, py + ph + down)];
      [x, y] = [Math.max(x, px - across), Math.max(y, py - down)];
      [w, h] = [right - x, low - y];
    }
    this.box = [x, y, w, h];
    const box = this.box.join(" ");
    if (this.svg.getAttribute("viewBox") !== box) this.svg.setAttribute("viewBox", box);
  }

  wholeForPaper(on) {
    this.svg.setAttribute("viewBox", (on ? this.sheet.drawing.all : this.box).join(" "));
  }

  // length on the drawing of one pixel of the screen
  pixel() {
    const { clientWidth, clientHeight } = this.svg;
    return Math.max(this.box[2] / (clientWidth || 600), this.box[3] / (clientHeight || 400));
  }

  // what: {piece, gone, waiting, lines, parts, dims, marks}; pieces are numbers
  overlay(what) {
    const over = svgNode("g", { class: "over", "aria-hidden": "true" });
    const px = this.pixel();
    const { pieces } = this.sheet;
    if (what.piece !== undefined) {
      const held = outlinePath(pieces[what.piece]);
      svgNode("path", { class: "veil", "fill-rule": "evenodd", d: outlinePath(pieces[0]) + held }, over);
      const gone = what.gone.map((i) => outlinePath(pieces[i])).join("");
      if (gone) svgNode("path", { class: "gone", d: gone }, over);
      const waiting = what.waiting.map((i) => outlinePath(pieces[i])).join("");
      if (waiting) svgNode("path", { class: "waiting", d: waiting }, over);
      svgNode("path", { class: "held-halo", d: held }, over);
      svgNode("path", { class: "held", d: held }, over);
    }
    if (what.flaws) this.flaws(over, what.flaws, px);
    for (const [x1, y1, x2, y2] of what.lines || []) {
      svgNode("line", { class: "score-halo", x1, y1, x2, y2 }, over);
      svgNode("line", { class: "score-now", x1, y1, x2, y2 }, over);
    }
    for (const part of what.parts || []) this.badge(over, part, what.lines[0], px);
    for (const [line, words] of what.dims || []) this.dimension(over, line, words, px);
    for (const [line, words] of what.marks || []) this.lineWords(over, line, words, px);
    this.over.replaceWith(over);
    this.over = over;
  }

  // panels that are hit, hatched; cuts that cross a flaw; the flaws themselves, never too small to be seen
  flaws(over, { marks, hit, crossed }, px) {
    for (const key of ["width", "height"]) this.svg.querySelector("#stripes").setAttribute(key, 12 * px);
    for (const piece of hit) {
      svgNode("path", { class: "hit", fill: "url(#stripes)", d: outlinePath(this.sheet.pieces[piece]) }, over);
    }
    for (const [x1, y1, x2, y2] of crossed) svgNode("line", { class: "crossed", x1, y1, x2, y2 }, over);
    for (const [[x, y, w, h], isNew] of marks) {
      const [left, wide, top, high] = [x / 1e5, w / 1e5, -(y + h) / 1e5, h / 1e5];
      const group = svgNode("g", { class: isNew ? "flaw-mark new" : "flaw-mark" }, over);
      svgNode("rect", { class: "flaw-halo", x: left, y: top, width: wide, height: high }, group);
      svgNode("rect", { x: left, y: top, width: wide, height: high }, group);
      const r = 13 * px;
      if (Math.max(wide, high) < 2 * r) {
        svgNode("circle", { cx: left + wide / 2, cy: top + high / 2, r }, group);
      }
    }
  }

  // the word for a part, beside its middle, where the arrow of the measure runs; none where it has no room
  badge(over, [piece, word, kind], line, px) {
    const [x, y, w, h] = outlineBox(this.sheet.pieces[piece]);
    const size = 17 * px;
    const wide = (word.length * 0.6 + 1.1) * size;
    const [short, long] = [Math.min(w, h), Math.max(w, h)];
    if (short < size * 1.9 || long < wide * 1.1) return;
    const upright = wide > w && h > w;
    const alongX = Math.abs(line[2] - line[0]) > Math.abs(line[3] - line[1]);
    const aside = [alongX && w > wide * 2 ? w / 4 : 0, !alongX && h > wide ? h / 4 : 0];
    const group = svgNode("g", {
      class: `badge ${kind}`,
      transform: `translate(${x + w / 2 + aside[0]} ${y + h / 2 + aside[1]})${upright ? " rotate(-90)" : ""}`,
    }, over);
    svgNode("rect", { x: -wide / 2, y: -size * 0.85, width: wide, height: size * 1.7, rx: size * 0.35 }, group);
    svgNode("text", { y: size * 0.35, "font-size": size, "text-anchor": "middle" }, group).textContent = word;
  }

  // the measure of a score beyond its end, in line with it as draughtsmen write it; beside it where there is no room
  lineWords(over, [x1, y1, x2, y2], words, px) {
    const size = 22 * px;
    const [gap, wide] = [8 * px, words.length * 0.58 * size];
    let [x, y, anchor, turn] = [Math.max(x1, x2) + gap, y1, "start", ""];
    const [left, top, width, height] = this.box;
    if (Math.abs(x2 - x1) > Math.abs(y2 - y1)) {
      if (x + wide > left + width) [x, anchor] = [Math.min(x1, x2) - gap, "end"];
      if (x - wide < left && anchor === "end") [x, y, anchor] = [Math.min(x1, x2) + gap, y - size * 0.7, "start"];
    } else {
      [x, y, turn] = [x1, Math.min(y1, y2) - gap, " rotate(-90)"];
      if (y - wide < top) [y, anchor] = [Math.max(y1, y2) + gap, "end"];
      if (y + wide > top + height && anchor === "end") {
        [x, y, anchor] = [x - size * 0.7, Math.max(y1, y2) - gap, "start"];
      }
    }
    svgNode("text", {
      class: "dim-words", "text-anchor": anchor, "font-size": size, y: size * 0.36,
      transform: `translate(${x} ${y})${turn}`,
    }, over).textContent = words;
  }

  // an arrow from the edge to the score, and the measure beside it
  dimension(over, [ax, ay, bx, by], words, px) {
    const long = Math.hypot(bx - ax, by - ay) || 1;
    const [ux, uy] = [(bx - ax) / long, (by - ay) / long];
    const tick = 9 * px;
    const path = `M${ax} ${ay}L${bx} ${by}M${ax - uy * tick} ${ay + ux * tick}L${ax + uy * tick} ${ay - ux * tick}`
      + `M${bx - (ux + uy * 0.6) * tick} ${by - (uy - ux * 0.6) * tick}L${bx} ${by}`
      + `L${bx - (ux - uy * 0.6) * tick} ${by - (uy + ux * 0.6) * tick}`;
    svgNode("path", { class: "dim-halo", d: path }, over);
    svgNode("path", { class: "dim", d: path }, over);
    if (!words) return;
    const size = 22 * px;
    const level = Math.abs(ux) > Math.abs(uy);
    const wide = words.length * 0.58 * size;
    let [tx, ty, anchor] = [(ax + bx) / 2, (ay + by) / 2 - size * 0.45, "middle"];
    if (!level) [tx, ty, anchor] = [(ax + bx) / 2 + size * 0.4, (ay + by) / 2 + size * 0.36, "start"];
    // near the right end of the view the words go to the other side
    const [left, , width] = this.box;
    if (level) tx = Math.min(Math.max(tx, left + wide / 2), left + width - wide / 2);
    else if (tx + wide > left + width) [tx, anchor] = [(ax + bx) / 2 - size * 0.4, "end"];
    svgNode("text", { class: "dim-words", x: tx, y: ty, "font-size": size, "text-anchor": anchor }, over)
      .textContent = words;
  }
}
