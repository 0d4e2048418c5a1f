"use strict";
const told = JSON.parse(document.getElementById("data").textContent);
const rows = told.rows;
/* drawn at a time: a screen or two, so that thousands of floors open as fast as fifty */
const AT_ONCE = 60;
const DAY = 86400000;
const AGED_DAYS = 30;
const LAPSE_DAYS = 14;
const by = (id) => document.getElementById(id);
const daysSince = (day) => (day ? Math.round((Date.parse(told.today) - Date.parse(day)) / DAY) : null);
const some = (value) => value !== null && value !== undefined && value > 0;
const isUnproven = (row) => (row.verdict || "").startsWith("not proven");
const isLate = (row) =>
  some(row.rising_m2) || some(row.stagnant_m2) || some(row.rose_between_m2);
const isAgeing = (row) => some(row.tests) && daysSince(row.oldest_valid_test) > AGED_DAYS;
const isLapsing = (row) => row.verdict === "meets" && row.holds_until && daysSince(row.holds_until) >= -LAPSE_DAYS;
const isDue = (row) => row.calibration_due && daysSince(row.calibration_due) >= 0;
const kinds = {
  all: () => true,
  wet: (row) => some(row.wet_m2),
  contested: (row) => some(row.contested_m2),
  exceeds: (row) => row.verdict === "exceeds",
  unproven: isUnproven,
  untested: (row) => !row.error && !some(row.tests),
  late: isLate,
  ageing: isAgeing,
  lapsing: isLapsing,
  due: isDue,
  failed: (row) => row.error !== "",
};
const verdictOf = (row) => row.error ? "could not be done" : row.verdict || "no test";
const wetWords = (row) => row.wet_m2 === null || row.wet_m2 === undefined ? "wet floor not known" : `wet ${number(row.wet_m2, 1)} m²`;
const number = (value, digits) => value === null || value === undefined ? "" : value.toFixed(digits);

const columns = [
  ["Floor", (r) => r.floor.toLowerCase(), (r, td) => {
    name(r, td, r.floor);
    small(td, r.error || r.name);
  }],
  ["Verdict of the tests", (r) => ["exceeds", "could not be done", "no test", "meets"].indexOf(verdictOf(r)), (r, td) => {
    mark(td, verdictOf(r));
    if (r.holds_until) small(td, `holds until ${r.holds_until}`);
    if (r.verdict) small(td, r.verdict_sentence);
  }],
  ["Wet [m²]", (r) => r.wet_m2 ?? -1, (r, td) => figures(td, number(r.wet_m2, 1))],
  ["of these contested [m²]", (r) => r.contested_m2 ?? -1, (r, td) => figures(td, number(r.contested_m2, 1))],
  ["above the level, set aside [m²]", (r) => r.set_aside_m2 ?? -1, (r, td) => figures(td, number(r.set_aside_m2, 1))],
  ["Floor [m²]", (r) => r.area_m2 ?? -1, (r, td) => figures(td, number(r.area_m2, 0))],
  ["Valid tests", (r) => r.tests ?? -1, (r, td) => figures(td, r.tests ? `${r.tests_valid ?? 0} of ${r.tests}` : "")],
  ["Oldest test [days]", (r) => daysSince(r.oldest_valid_test) ?? -1, (r, td) => {
    const days = daysSince(r.oldest_valid_test);
    figures(td, days === null ? "" : String(days));
    if (days > AGED_DAYS) small(td, "read again");
  }],
  ["Probe due", (r) => r.calibration_due || "9999", (r, td) => {
    dated(td, r.calibration_due || "");
    if (isDue(r)) small(td, "overdue");
  }],
  ["Drying", (r) => (r.rising_m2 ?? 0) * 1000 + (r.stagnant_m2 ?? -1), (r, td) => {
    const parts = [];
    if (some(r.rose_between_m2)) parts.push(`${number(r.rose_between_m2, 1)} m² rose between visits`);
    if (some(r.rising_m2)) parts.push(`${number(r.rising_m2, 1)} m² rising`);
    if (some(r.stagnant_m2)) parts.push(`${number(r.stagnant_m2, 1)} m² hardly drying`);
    if (some(r.not_before_days)) parts.push(notBefore(r));
    text(td, parts.join("; "));
  }],
  ["Visit", (r) => r.started || "", (r, td) => {
    dated(td, r.visit || (r.readings === 0 ? "not scanned" : ""));
    small(td, r.started ? r.started.slice(0, 10) : "");
  }],
];

/* days are counted from the visit that was mapped, however long ago that is */
function notBefore(row) {
  const days = Math.ceil(row.not_before_days);
  if (!row.started) return `not before ${days} days after the last visit`;
  const day = new Date(`${row.started.slice(0, 10)}T12:00:00Z`);
  day.setUTCDate(day.getUTCDate() + days);
  return `not before ${day.toISOString().slice(0, 10)}`;
}
function text(td, words) { td.append(document.createTextNode(words)); }
function figures(td, words) { td.className = "number"; text(td, words); }
function dated(td, words) { td.className = "date"; text(td, words); }
function small(td, words) {
  if (!words) return;
  const span = document.createElement("span");
  span.className = "small";
  span.textContent = words;
  td.append(span);
}
function mark(td, words) {
  const span = document.createElement("span");
  span.className = "mark";
  span.textContent = words;
  td.append(span);
}
function name(row, td, words) {
  const first = (row.reports || "").split(" ")[0];
  if (!first) { mark(td, words); return; }
  const link = document.createElement("a");
  link.href = first;
  link.textContent = words;
  td.append(link);
}

let sorted = { column: 0, down: false };
function shown() {
  const wanted = by("find").value.trim().toLowerCase();
  const keep = kinds[by("kind").value];
  const found = rows.filter((row) => keep(row) && (!wanted ||
    [row.floor, row.name, row.instrument, row.instrument_model].some((one) => (one || "").toLowerCase().includes(wanted))));
  const key = columns[sorted.column][1];
  const sign = sorted.down ? -1 : 1;
  return found.sort((a, b) => (key(a) < key(b) ? -sign : key(a) > key(b) ? sign : 0));
}
function tableRow(row) {
  const tr = document.createElement("tr");
  for (const [, , fill] of columns) {
    const td = document.createElement("td");
    if (row.error && fill !== columns[0][2] && fill !== columns[1][2]) { tr.append(td); continue; }
    fill(row, td);
    tr.append(td);
  }
  return tr;
}
function drawTable(found) {
  by("body").replaceChildren();
  begin(found.map((row) => () => by("body").append(tableRow(row))));
}

/* what is still to be drawn, one function a row or picture; more comes when its end is near */
let waiting = [];
const nearEnd = new IntersectionObserver((seen) => {
  if (seen.some((one) => one.isIntersecting)) drawMore(AT_ONCE);
}, { rootMargin: "1500px" });
function begin(parts) {
  waiting = parts;
  drawMore(AT_ONCE);
}
function drawMore(count) {
  waiting.splice(0, count).forEach((part) => part());
  by("more").hidden = waiting.length === 0;
  by("left").textContent = waiting.length;
  /* watched anew, so that an end that stays in sight is told again */
  nearEnd.unobserve(by("more"));
  if (waiting.length) nearEnd.observe(by("more"));
}

/* light to dark with the reading; the same ramp and ends for all floors of one model */
const RAMP = told.ramp.map((one) => [1, 3, 5].map((at) => parseInt(one.slice(at, at + 2), 16)));
function shade(share) {
  const at = share * (RAMP.length - 1);
  const low = Math.min(Math.floor(at), RAMP.length - 2);
  return RAMP[low].map((one, i) => Math.round(one + (RAMP[low + 1][i] - one) * (at - low)));
}
function paint(canvas, map) {
  const bytes = Uint8Array.from(atob(map.cells), (one) => one.charCodeAt(0));
  canvas.width = map.width;
  canvas.height = map.height;
  const context = canvas.getContext("2d");
  const image = context.createImageData(map.width, map.height);
  bytes.forEach((byte, i) => {
    if (byte === 255) return;
    const [r, g, b] = shade(byte / 254);
    image.data.set([r, g, b, 255], 4 * i);
  });
  context.putImageData(image, 0, 0);
}
const watcher = new IntersectionObserver((seen) => {
  for (const one of seen) {
    if (!one.isIntersecting) continue;
    watcher.unobserve(one.target);
    paint(one.target, one.target.map);
  }
}, { rootMargin: "300px" });
/* pictures are read only when they are first asked for */
let kept = null;
function mapOf(row) {
  kept = kept || JSON.parse(document.getElementById("maps-data").textContent);
  return kept[row.floor];
}
function groupOf(row) {
  const map = mapOf(row);
  return map.model ? `${map.model}, scale ${map.low} to ${map.high}` : "";
}
function drawMaps(found) {
  const groups = new Map();
  for (const row of found) {
    if (!mapOf(row)) continue;
    const group = groupOf(row) || "Instrument model or scale not stated: each map on its own scale, not to be compared";
    if (!groups.has(group)) groups.set(group, []);
    groups.get(group).push(row);
  }
  by("maps").replaceChildren();
  /* those without a stated scale last */
  const ordered = [...groups].sort((a, b) => Boolean(groupOf(b[1][0])) - Boolean(groupOf(a[1][0])));
  begin(ordered.flatMap(([group, members]) => {
    const grid = document.createElement("div");
    grid.className = "grid";
    return members.map((row, index) => () => {
      if (index === 0) by("maps").append(section(group, row, grid));
      grid.append(picture(row));
    });
  }));
}
function section(group, first, grid) {
  const part = document.createElement("section");
  const title = document.createElement("h2");
  title.textContent = group;
  part.append(title);
  if (groupOf(first)) part.append(...legend(mapOf(first)));
  part.append(grid);
  return part;
}
function legend(map) {
  const ramp = document.createElement("div");
  ramp.className = "ramp";
  ramp.style.background = `linear-gradient(90deg, ${RAMP.map((one) => `rgb(${one})`).join(",")})`;
  const ends = document.createElement("div");
  ends.className = "ends";
  for (const one of [map.low, map.high]) {
    const span = document.createElement("span");
    span.textContent = String(one);
    ends.append(span);
  }
  return [ramp, ends];
}
function picture(row) {
  const figure = document.createElement("figure");
  const canvas = document.createElement("canvas");
  const map = mapOf(row);
  canvas.width = map.width;
  canvas.height = map.height;
  canvas.map = map;
  canvas.setAttribute("role", "img");
  canvas.setAttribute("aria-label", `Relative readings on ${row.floor}, ${wetWords(row)}`);
  watcher.observe(canvas);
  const caption = document.createElement("figcaption");
  name(row, caption, row.floor);
  const own = map.model ? "" : ` · ${map.low} to ${map.high}`;
  small(caption, `${wetWords(row)} · ${verdictOf(row)}${own}`);
  figure.append(canvas, caption);
  return figure;
}
function draw() {
  const found = shown();
  const failed = rows.filter(kinds.failed).length;
  by("count").textContent = `${rows.length} floors on ${told.today}: ${rows.filter(kinds.wet).length} with wet zones, ` +
    `${rows.filter(kinds.exceeds).length} whose tests exceed the limit, ${rows.filter(isUnproven).length} not proven, ` +
    `${rows.filter(kinds.untested).length} without a test, ${failed} could not be done. ${found.length} shown.`;
  const maps = by("view").getAttribute("aria-pressed") === "true";
  by("table-frame").hidden = maps;
  by("maps").hidden = !maps;
  if (maps) drawMaps(found); else drawTable(found);
}
columns.forEach(([title], index) => {
  const th = document.createElement("th");
  th.scope = "col";
  if (title.includes("[") || title === "Valid tests") th.className = "number";
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = title;
  button.addEventListener("click", () => {
    sorted = { column: index, down: sorted.column === index ? !sorted.down : false };
    [...by("head").children].forEach((one, i) =>
      one.setAttribute("aria-sort", i === index ? (sorted.down ? "descending" : "ascending") : "none"));
    draw();
  });
  th.append(button);
  by("head").append(th);
});
by("caution").textContent = `${told.disclaimer} Tests are judged as of the day above; a floor left open is read again.`;
by("more-now").addEventListener("click", () => drawMore(AT_ONCE));
addEventListener("beforeprint", () => drawMore(waiting.length));
by("find").addEventListener("input", draw);
by("kind").addEventListener("change", draw);
by("view").addEventListener("click", () => {
  const on = by("view").getAttribute("aria-pressed") !== "true";
  by("view").setAttribute("aria-pressed", String(on));
  draw();
});
draw();
