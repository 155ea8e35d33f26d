"use strict";
// Notes are lines of text, as usecases/field/notes.py reads them. They are kept in this browser, where it lets us.
const sheet = document.body.dataset.sheet;
const head = `Snugfast field notes 1\nsheet ${sheet} position ${document.body.dataset.position}`;
const byId = (id) => document.getElementById(id);
let notes = [];
let kept = true;
try {
  notes = JSON.parse(localStorage.getItem(`snugfast ${sheet}`) || "[]");
  localStorage.setItem(`snugfast ${sheet}`, JSON.stringify(notes));
} catch {
  kept = false;
  byId("store").textContent = "This reader keeps nothing when it is closed: copy your notes before you leave.";
}
const clean = (text) => String(text).replaceAll("|", "/").replace(/\s+/g, " ").trim();
const now = () => new Date().toISOString().slice(0, 16).replace("T", " ") + "Z";
const row = (...parts) => parts.map(clean).join(" | ");
const all = () => (notes.length ? `${head}\n${notes.map((one) => one.row).join("\n")}\n` : "");

function keep() {
  if (kept) localStorage.setItem(`snugfast ${sheet}`, JSON.stringify(notes));
  show();
}

function show() {
  byId("notes").value = all();
  byId("codes").replaceChildren();
  for (const line of document.querySelectorAll("[data-line]")) {
    const said = notes.find((one) => one.line === line.dataset.line);
    line.toggleAttribute("data-said", Boolean(said));
    line.querySelector(".said").textContent = said ? said.words : "";
    for (const button of line.querySelectorAll("[data-do]")) button.hidden = (button.dataset.do === "undo") !== Boolean(said);
  }
  if (byId("h-now")) showHunt();
  byId("runs").replaceChildren(...notes.filter((one) => one.run).map((one) => {
    const item = document.createElement("li");
    const undo = document.createElement("button");
    undo.type = "button";
    undo.textContent = "Undo";
    undo.setAttribute("aria-label", `Undo: ${one.words}`);
    undo.addEventListener("click", () => { notes = notes.filter((other) => other !== one); keep(); });
    item.append(`${one.words} `, undo);
    return item;
  }));
}

function answer(line, words, told, pack = "", note = "") {
  const packs = pack ? [pack] : line.dataset.packs ? line.dataset.packs.split(",") : [""];
  for (const one of packs) notes.push({ line: line.dataset.line, words: told, row: row(now(), "check", line.dataset.car, line.dataset.check, one, words, note) });
  keep();
}

document.addEventListener("click", (event) => {
  const button = event.target.closest("[data-do]");
  if (!button) return;
  const line = button.closest("[data-line]");
  const field = (name) => line.querySelector(`[name=${name}]`);
  if (button.dataset.do === "ok") answer(line, "sound", "OK");
  if (button.dataset.do === "undo") { notes = notes.filter((one) => one.line !== line.dataset.line); keep(); }
  if (button.dataset.do === "wet") {
    notes.push({ line: line.dataset.line, words: "Done", row: row(now(), "wet", line.dataset.car, line.dataset.treatment) });
    keep();
  }
  if (button.dataset.do === "found") {
    const found = field("found"), did = field("did");
    if (!found.value) { found.focus(); return; }
    if (!did.value) { did.focus(); return; }
    const told = `${found.selectedOptions[0].textContent}: ${did.selectedOptions[0].textContent.toLowerCase()}`;
    answer(line, `${found.value}: ${did.value}`, told, field("pack")?.value, field("note").value);
    line.querySelector("details").open = false;
  }
});

byId("r-save").addEventListener("click", () => {
  const field = byId("r-minutes");
  const minutes = parseFloat(field.value.replace(",", "."));
  if (!(minutes > 0 && minutes < 600)) { byId("r-told").textContent = "How many minutes did it run?"; field.focus(); return; }
  byId("r-told").textContent = "";
  const ticked = [...document.querySelectorAll("[name=r-pack]:checked")];
  const packs = ticked.map((one) => clean(one.value).replaceAll(",", " ")).join(", ");
  const car = byId("r-car").value;
  notes.push({
    run: true,
    words: `${car}: ${minutes} min${packs ? `, ${packs}` : ""}`,
    row: row(now(), "run", car, packs, minutes, byId("r-ground").value, byId("r-wet").value, byId("r-hits").value.replace(/\D/g, ""), byId("r-note").value),
  });
  for (const id of ["r-minutes", "r-hits", "r-note"]) byId(id).value = "";
  for (const one of ticked) one.checked = false;
  keep();
});

byId("copy").addEventListener("click", async () => {
  const text = byId("notes");
  try {
    await navigator.clipboard.writeText(text.value);
  } catch {
    text.select();
    document.execCommand("copy");
  }
  byId("told").textContent = "Copied.";
});

byId("save").addEventListener("click", () => {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([all()], { type: "text/plain" }));
  link.download = "field-notes.txt";
  link.click();
  byId("told").textContent = "Saved as field-notes.txt.";
});

// QR codes (ISO/IEC 18004): always version 15, level M, byte mode, mask 0. Each holds the head and some whole lines.
const SIDE = 77, ROOM = 412, DATA = 415, EC = 24, BLOCKS = [41, 41, 41, 41, 41, 42, 42, 42, 42, 42];
const EXP = new Uint8Array(512), LOG = new Uint8Array(256);
for (let i = 0, x = 1; i < 255; i++) { EXP[i] = EXP[i + 255] = x; LOG[x] = i; x <<= 1; if (x & 256) x ^= 0x11d; }
const times = (a, b) => (a && b ? EXP[LOG[a] + LOG[b]] : 0);
let generator = [1];
for (let i = 0; i < EC; i++) {
  const next = [...generator, 0];
  generator.forEach((value, at) => { next[at + 1] ^= times(value, EXP[i]); });
  generator = next;
}

function corrected(block) {
  const rest = [...block, ...new Array(EC).fill(0)];
  for (let i = 0; i < block.length; i++) {
    const lead = rest[i];
    if (lead) generator.forEach((value, at) => { rest[i + at] ^= times(value, lead); });
  }
  return rest.slice(block.length);
}

function codewords(bytes) {
  const bits = [];
  const put = (value, count) => { for (let i = count - 1; i >= 0; i--) bits.push((value >> i) & 1); };
  put(4, 4);
  put(bytes.length, 16);
  bytes.forEach((value) => put(value, 8));
  put(0, 4);
  const data = [];
  for (let i = 0; i < bits.length; i += 8) data.push(bits.slice(i, i + 8).reduce((sum, bit) => sum * 2 + bit, 0) );
  for (let i = 0; data.length < DATA; i++) data.push(i % 2 ? 0x11 : 0xec);
  let from = 0;
  const blocks = BLOCKS.map((size) => data.slice(from, (from += size)));
  const checks = blocks.map(corrected);
  const out = [];
  for (let i = 0; i < 42; i++) for (const block of blocks) if (i < block.length) out.push(block[i]);
  for (let i = 0; i < EC; i++) for (const check of checks) out.push(check[i]);
  return out;
}

function modules(bytes) {
  const grid = Array.from({ length: SIDE }, () => new Int8Array(SIDE).fill(-1));
  const set = (x, y, dark) => { if (x >= 0 && y >= 0 && x < SIDE && y < SIDE) grid[y][x] = dark ? 1 : 0; };
  for (const [cx, cy] of [[3, 3], [SIDE - 4, 3], [3, SIDE - 4]])
    for (let y = -4; y <= 4; y++) for (let x = -4; x <= 4; x++) {
      const ring = Math.max(Math.abs(x), Math.abs(y));
      set(cx + x, cy + y, ring !== 2 && ring !== 4);
    }
  const centres = [6, 26, 48, 70];
  for (const cy of centres) for (const cx of centres) {
    if ((cx === 6 && cy === 6) || (cx === 70 && cy === 6) || (cx === 6 && cy === 70)) continue;
    for (let y = -2; y <= 2; y++) for (let x = -2; x <= 2; x++) set(cx + x, cy + y, Math.max(Math.abs(x), Math.abs(y)) !== 1);
  }
  for (let i = 8; i < SIDE - 8; i++) { set(i, 6, i % 2 === 0); set(6, i, i % 2 === 0); }
  for (let i = 0; i < 18; i++) { // version 15
    const dark = (0x0f928 >> i) & 1, a = Math.floor(i / 3), b = SIDE - 11 + (i % 3);
    set(a, b, dark);
    set(b, a, dark);
  }
  const format = 0x5412; // level M, mask 0
  for (let i = 0; i < 15; i++) {
    const dark = (format >> i) & 1;
    set(8, i < 6 ? i : i < 8 ? i + 1 : SIDE - 15 + i, dark);
    set(i < 8 ? SIDE - 1 - i : i < 9 ? 7 : 14 - i, 8, dark);
  }
  set(8, SIDE - 8, true);
  const words = codewords(bytes);
  let bit = 0;
  for (let right = SIDE - 1; right > 0; right -= 2) {
    if (right === 6) right = 5;
    const up = ((SIDE - 1 - right - (right < 6 ? 1 : 0)) / 2) % 2 === 0;
    for (let step = 0; step < SIDE; step++) for (const x of [right, right - 1]) {
      const y = up ? SIDE - 1 - step : step;
      if (grid[y][x] !== -1) continue;
      const dark = bit < words.length * 8 ? (words[bit >> 3] >> (7 - (bit & 7))) & 1 : 0;
      bit++;
      grid[y][x] = dark ^ ((x + y) % 2 === 0 ? 1 : 0);
    }
  }
  return grid;
}

function pieces() {
  const size = (text) => new TextEncoder().encode(text).length;
  const made = [];
  let piece = head;
  for (const { row: one } of notes) {
    if (piece !== head && size(`${piece}\n${one}`) > ROOM) { made.push(piece); piece = head; }
    piece += `\n${one}`;
  }
  if (piece !== head) made.push(piece);
  return made;
}

byId("show").addEventListener("click", () => {
  const texts = pieces();
  const space = "http://www.w3.org/2000/svg";
  byId("codes").replaceChildren(...texts.map((text, number) => {
    const bytes = new TextEncoder().encode(text);
    const svg = document.createElementNS(space, "svg");
    svg.setAttribute("viewBox", `-4 -4 ${SIDE + 8} ${SIDE + 8}`);
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", `Code ${number + 1} of ${texts.length}`);
    svg.setAttribute("shape-rendering", "crispEdges");
    const path = document.createElementNS(space, "path");
    path.setAttribute("fill", "#000");
    if (bytes.length <= ROOM) path.setAttribute("d", modules(bytes).flatMap((line, y) => [...line].map((dark, x) => (dark ? `M${x} ${y}h1v1h-1z` : ""))).join(""));
    svg.append(path);
    return svg;
  }));
  const long = texts.some((text) => new TextEncoder().encode(text).length > ROOM);
  byId("told").textContent = !texts.length ? "There are no notes yet." : long ? "One note is too long for a code: copy the notes instead." : `${texts.length === 1 ? "1 code" : `${texts.length} codes`}. Photograph each, or the whole row.`;
});
