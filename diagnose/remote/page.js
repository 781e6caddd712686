"use strict";
// The client's page: asks, warns, keeps what was typed, and hands back one file. It knows no question of its own:
// what is asked, in which order, and what is dangerous stands in the data that the desk wrote into the page.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const LIMITS = { photos: 6, side: 1600, quality: 0.8, first: 8, more: 4, heard: 5, text: 2000 };
  const KEY = "part-report:" + data.key;
  const byId = (id) => document.getElementById(id);

  // -- building the page: text only ever becomes text ---------------------------------------------------------------
  function el(tag, attributes, ...children) {
    const made = document.createElement(tag);
    for (const [name, value] of Object.entries(attributes || {})) {
      if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
      else if (value === true) made.setAttribute(name, "");
      else if (value !== false && value !== null && value !== undefined) made.setAttribute(name, value);
    }
    made.append(...children.filter((child) => child !== null && child !== undefined && child !== ""));
    return made;
  }
  function drawing(name) {
    const kept = byId("drawing-" + name);
    return kept ? kept.content.cloneNode(true) : null;
  }
  const say = (text) => { byId("said").textContent = text; };

  // -- what was typed, kept through a reload ------------------------------------------------------------------------
  const fresh = () => ({
    token: [...crypto.getRandomValues(new Uint8Array(9))].map((b) => b.toString(16).padStart(2, "0")).join(""),
    step: 0, system: data.system, well: "", lump: "", answers: {}, seen: [], limit: LIMITS.first, own: "", about: {}, shots: [],
  });
  let state = fresh();
  let photos = []; // {name, of, jpeg: Blob}
  try { state = { ...state, ...JSON.parse(localStorage.getItem(KEY) || "{}") }; } catch { /* begun anew */ }
  function keep() {
    try { localStorage.setItem(KEY, JSON.stringify(state)); } catch { say("This browser keeps nothing: don't close the page before you have sent the file."); }
    warn();
  }
  const shelf = {
    open() {
      return new Promise((done) => {
        try {
          const asked = indexedDB.open("part-report", 1);
          asked.onupgradeneeded = () => asked.result.createObjectStore("photos");
          asked.onsuccess = () => done(asked.result);
          asked.onerror = () => done(null);
        } catch { done(null); }
      });
    },
    async put() {
      const base = await this.open();
      if (base) base.transaction("photos", "readwrite").objectStore("photos").put(photos, KEY);
    },
    async get() {
      const base = await this.open();
      if (!base) return [];
      return new Promise((done) => {
        const asked = base.transaction("photos").objectStore("photos").get(KEY);
        asked.onsuccess = () => done(Array.isArray(asked.result) ? asked.result : []);
        asked.onerror = () => done([]);
      });
    },
  };

  // -- numbers and units --------------------------------------------------------------------------------------------
  const UNCERTAIN = /^(?:about|around|approx\.?|ca\.?|~|≈)\s*/i;
  function plainNumber(text) {
    const flat = text.trim().replace(",", ".").replace("\u2212", "-");
    let found = /^([+-]?\d+)\s+(\d+)\/(\d+)$/.exec(flat);
    if (found && +found[3]) return +found[1] + +found[2] / +found[3];
    found = /^([+-]?\d+)\s*\/\s*(\d+)$/.exec(flat);
    if (found && +found[2]) return +found[1] / +found[2];
    return /^[+-]?(?:\d+\.?\d*|\.\d+)$/.test(flat) ? +flat : null;
  }
  /** What was typed for a number: {text, unsure} as it goes into the file, or null where it is none. */
  function typed(raw, dimension) {
    let text = raw.trim(), unsure = false;
    if (UNCERTAIN.test(text)) { text = text.replace(UNCERTAIN, ""); unsure = true; }
    if (dimension === "ratio") {
      const ratio = /^(\d+(?:\.\d+)?)\s*(?::|to)\s*(\d+(?:\.\d+)?)$/i.exec(text);
      if (ratio && +ratio[2]) return { value: (100 * ratio[1]) / ratio[2], text: ratio[1] + ":" + ratio[2], unsure };
    }
    const span = /^(\d+(?:[.,]\d+)?)\s*(?:-|–|to)\s*(\d+(?:[.,]\d+)?)$/i.exec(text);
    if (span) { const middle = (plainNumber(span[1]) + plainNumber(span[2])) / 2; return { value: middle, text: String(middle), unsure: true }; }
    const value = plainNumber(text);
    return value === null ? null : { value, text: String(+value.toPrecision(12)), unsure };
  }
  const unitOf = (dimension, name) => (data.units[dimension] || []).find((unit) => unit.n === name);
  /** The number told for *name* in its stored unit, or null. */
  function stored(name) {
    const told = state.answers[name], question = data.questions[name];
    if (!told || told.unknown || !question || question.kind !== "number" || !told.text) return null;
    const read = typed(told.text, question.dimension);
    if (!read) return null;
    const unit = unitOf(question.dimension, told.unit), base = unitOf(question.dimension, question.unit);
    return unit && base ? (read.value * unit.f + unit.o - base.o) / base.f : read.value;
  }
  function startUnit(question) {
    const units = data.units[question.dimension] || [];
    const liked = units.find((unit) => unit.s === state.system && unit.d) || units.find((unit) => unit.n === question.unit);
    return liked ? liked.n : "";
  }

  // -- which questions make sense, and in which order ---------------------------------------------------------------
  const chosen = (name) => {
    const told = state.answers[name];
    if (!told || told.unknown) return [];
    return told.values || [];
  };
  function applies(entry) {
    const build = chosen("build")[0], painted = chosen("painted")[0];
    if (build && entry.builds && !entry.builds.includes(build)) return false;
    return !(painted && entry.painted !== undefined && entry.painted !== (painted === "yes"));
  }
  function sensible(name) {
    const question = data.questions[name];
    if (!question || !applies(question)) return false;
    for (const [other, allowed] of Object.entries(question.when || {})) {
      if (other === "seen") {
        const seen = new Set(seenNow().flatMap((symptom) => [symptom, data.symptoms[symptom].family]));
        if (seen.size && !allowed.some((value) => seen.has(value))) return false;
      } else if (chosen(other).length && !chosen(other).some((value) => allowed.includes(value))) return false;
    }
    return true;
  }
  const seenNow = () => state.seen.filter((name) => data.symptoms[name] && applies(data.symptoms[name]));
  const answered = (name) => { const told = state.answers[name]; return !!told && (told.unknown || (told.values || []).length > 0 || !!told.text); };
  const groups = new Map(); // question -> the sum that it is asked for with others
  /** Questions by what they add in bits, summed over the faults that are ticked. */
  function ranked() {
    if (data.ask) return data.ask.filter(sensible);
    const worth = new Map(), place = new Map();
    groups.clear();
    for (const symptom of seenNow()) {
      const tables = data.order[symptom] || {}, rows = tables[chosen("build")[0] || ""] || tables[""] || [];
      rows.forEach(([name, bits, group], i) => {
        if (group && !groups.has(name)) groups.set(name, group);
        worth.set(name, (worth.get(name) || 0) + bits);
        place.set(name, Math.min(i, place.has(name) ? place.get(name) : i));
      });
    }
    const names = [...worth.keys()].filter((name) => sensible(name) && !state.seen.includes(name) && !data.first_asked.includes(name));
    return names.sort((a, b) => +(worth.get(b) - worth.get(a)).toFixed(9) || place.get(a) - place.get(b) || (a < b ? -1 : 1));
  }

  // -- dangers: a rule from the knowledge, off line -----------------------------------------------------------------
  function lumpy(lumps) {
    const age = stored(lumps.age), warmth = stored(lumps.warmth), thick = stored(lumps.section);
    if (age !== null && age >= lumps.age_under) return false;
    if (warmth !== null && warmth < lumps.cool_under) return false;
    if (thick !== null && thick > lumps.section_over) return true;
    for (const names of lumps.mass) {
      const told = names.map(stored);
      if (told.every((value) => value !== null)) return told.reduce((a, b) => a + b, 0) > lumps.mass_over;
    }
    return false;
  }
  function dangers() {
    const seen = new Set([...seenNow(), ...Object.keys(state.answers).filter((name) => chosen(name)[0] === "seen")]);
    return data.dangers.filter((danger) =>
      data.standing.includes(danger.id) ||
      danger.symptoms.some((name) => seen.has(name)) ||
      Object.entries(danger.answers).some(([name, values]) => chosen(name).some((value) => values.includes(value))) ||
      Object.entries(danger.over).some(([name, most]) => stored(name) !== null && stored(name) > most) ||
      (danger.lumps && (state.lump === "yes" || lumpy(danger.lumps))) ||
      (danger.ask && state.well === "no"));
  }
  let warned = new Set();
  function warn() {
    const found = dangers(), box = byId("dangers"), names = new Set(found.map((danger) => danger.id));
    if (names.size === warned.size && [...names].every((name) => warned.has(name))) return;
    const added = found.filter((danger) => !warned.has(danger.id));
    warned = names;
    box.replaceChildren(...found.map((danger) => el("section", { class: "danger", "data-danger": danger.id },
      el("h2", {}, danger.title), el("p", { class: "do" }, danger.say),
      el("details", {}, el("summary", {}, "Why"), el("p", {}, danger.why)))));
    if (added.length) { box.scrollIntoView({ block: "start" }); box.focus({ preventScroll: true }); }
  }

  // -- one question -------------------------------------------------------------------------------------------------
  const box = (type, name, value, title, on, change) => el("label", { class: "option" },
    el("input", { type, name, value, checked: on, onchange: change }), el("span", {}, title));
  function answer(name, change) {
    const told = { ...(state.answers[name] || {}), ...change };
    state.answers[name] = told;
    keep();
  }
  function question(name) {
    const entry = data.questions[name], id = "q-" + name;
    const parts = [el("legend", {}, entry.title), drawing(name)];
    if (entry.how) parts.push(el("p", { class: "how", id: id + "-how" }, entry.how));
    parts.push(entry.kind === "number" ? number(name, entry, id) : options(name, entry, id));
    if (entry.help) parts.push(el("details", {}, el("summary", {}, "More about this"), el("p", {}, entry.help)));
    return el("fieldset", { id, class: "question", "data-question": name, "aria-describedby": entry.how ? id + "-how" : null }, ...parts);
  }
  function options(name, entry, id) {
    const told = state.answers[name] || {}, many = entry.kind === "many", holder = el("div", { class: "options" });
    const inputs = () => [...holder.querySelectorAll("input")];
    function changed(event) {
      const value = event.target.value, on = event.target.checked;
      if (many) {
        const alone = value === "?" || value === entry.alone;
        for (const input of inputs()) if (on && input !== event.target && (alone || input.value === "?" || input.value === entry.alone)) input.checked = false;
      }
      const picked = inputs().filter((input) => input.checked).map((input) => input.value);
      answer(name, { unknown: picked.includes("?"), values: picked.filter((one) => one !== "?") });
      if (entry.gates) refresh(name);
    }
    for (const [value, title] of entry.options) holder.append(box(many ? "checkbox" : "radio", id, value, title, (told.values || []).includes(value), changed));
    holder.append(box(many ? "checkbox" : "radio", id, "?", "Don't know", !!told.unknown, changed));
    return entry.past ? el("div", {}, holder, memory(name, id)) : holder;
  }
  const memory = (name, id) => el("label", { class: "option quiet" },
    el("input", { type: "checkbox", name: id + "-memory", checked: !!(state.answers[name] || {}).memory, onchange: (event) => answer(name, { memory: event.target.checked }) }),
    el("span", {}, "From memory, nobody wrote it down"));
  function number(name, entry, id) {
    const told = state.answers[name] || {}, units = data.units[entry.dimension] || [];
    const message = el("p", { class: "message", id: id + "-message", "aria-live": "polite" });
    const field = el("input", { type: "text", inputmode: "decimal", autocomplete: "off", id: id + "-number", value: told.text || "", maxlength: 40, "aria-describedby": id + "-message" });
    const unit = units.length > 1 ? el("select", { id: id + "-unit", "aria-label": "Unit" }, ...units.map((one) => el("option", { value: one.n, selected: one.n === (told.unit || startUnit(entry)) }, one.l))) : null;
    const unknown = el("input", { type: "checkbox", name: id + "-unknown", checked: !!told.unknown });
    function checked() {
      const text = field.value.trim(), read = typed(text, entry.dimension), value = stored(name);
      let wrong = "";
      if (text && !read) wrong = "Write a number, such as " + (entry.example || "12") + ". What you wrote is kept and sent as it is.";
      else if (value !== null && entry.low !== undefined && (value < entry.low || value > entry.high)) wrong = "That is hard to believe. Is the unit right?";
      message.textContent = wrong;
      field.setAttribute("aria-invalid", wrong ? "true" : "false");
    }
    const changed = () => { if (field.value.trim()) unknown.checked = false; answer(name, { text: field.value, unit: unit ? unit.value : entry.unit, unknown: unknown.checked }); checked(); };
    field.addEventListener("input", changed);
    if (unit) unit.addEventListener("change", changed);
    unknown.addEventListener("change", () => { if (unknown.checked) field.value = ""; changed(); });
    if (told.text) checked();
    return el("div", {}, el("label", { class: "small", for: id + "-number" }, "Number"),
      el("div", { class: "number" }, field, unit || el("span", { class: "unit" }, units.length ? units[0].l : "")), message,
      memory(name, id), el("label", { class: "option" }, unknown, el("span", {}, "Don't know")));
  }

  // -- what is wrong: own words, and the list -----------------------------------------------------------------------
  const STOP = new Set(data.idle);
  const stems = (text) => text.toLowerCase().normalize("NFKD").replace(/['\u2019]/g, "").split(/[^a-z0-9]+/)
    .filter((word) => word.length > 1 && !STOP.has(word)).map((word) => word.replace(/(?:ing|ed|es|s|y|ie)$/, "").slice(0, 7) || word);
  let phrases = null, weight = null;
  function listen() {
    const rows = new Map();
    phrases = Object.entries(data.symptoms).flatMap(([name, entry]) => [entry.title, ...entry.words].map((phrase) => ({ name, stems: [...new Set(stems(phrase))] })));
    for (const phrase of phrases) for (const stem of phrase.stems) rows.set(stem, (rows.get(stem) || new Set()).add(phrase.name));
    const count = Object.keys(data.symptoms).length;
    weight = new Map([...rows].map(([stem, names]) => [stem, Math.log(1 + count / names.size) ** 2]));
  }
  /** Faults that *text* may mean: how well one phrase of callers is covered, and how telling the words are that it shares. */
  function heard(text) {
    if (!phrases) listen();
    const said = new Set(stems(text).filter((stem) => weight.has(stem))), sum = (list) => list.reduce((total, stem) => total + weight.get(stem), 0);
    const whole = sum([...said]), best = new Map(), shared = new Map();
    for (const phrase of phrases) {
      const both = phrase.stems.filter((stem) => said.has(stem));
      if (!both.length) continue;
      const part = sum(both);
      best.set(phrase.name, Math.max(best.get(phrase.name) || 0, part / Math.sqrt(sum(phrase.stems) * whole)));
      const own = shared.get(phrase.name) || new Map();
      for (const stem of both) own.set(stem, weight.get(stem) / whole);
      shared.set(phrase.name, own);
    }
    const score = (name) => best.get(name) + 0.4 * [...shared.get(name).values()].reduce((a, b) => a + b, 0);
    return [...best.keys()].filter((name) => applies(data.symptoms[name]) && score(name) > 0.25)
      .sort((a, b) => score(b) - score(a) || (a < b ? -1 : 1)).slice(0, LIMITS.heard);
  }
  function symptom(name, place) {
    const entry = data.symptoms[name], more = el("div", { class: "sure", hidden: true });
    for (const [other, hint] of entry.unlike) if (data.symptoms[other]) more.append(el("p", {}, hint, " (", el("strong", {}, data.symptoms[other].title), ")"));
    const tick = el("input", { type: "checkbox", name: place + "-" + name, "data-symptom": name, checked: state.seen.includes(name), onchange: (event) => {
      state.seen = event.target.checked ? [...new Set([...state.seen, name])] : state.seen.filter((one) => one !== name);
      sync(); keep();
    } });
    const look = drawing(name);
    return el("div", { class: "symptom" },
      el("label", { class: "option" }, tick, el("span", {}, entry.title)),
      el("div", { class: "row" }, look, el("p", {}, entry.help)), more);
  }
  function sync() {
    for (const tick of document.querySelectorAll("[data-symptom]")) {
      tick.checked = state.seen.includes(tick.dataset.symptom);
      const more = tick.closest(".symptom").querySelector(".sure");
      more.hidden = !(tick.checked && more.childElementCount);
    }
    for (const family of document.querySelectorAll("[data-family]")) {
      const count = seenNow().filter((name) => data.symptoms[name].family === family.dataset.family).length;
      family.querySelector(".count").textContent = count ? count + " ticked" : "";
    }
    byId("ticked").textContent = seenNow().length ? "Ticked: " + seenNow().map((name) => data.symptoms[name].title).join("; ") : "Nothing ticked yet.";
  }
  function showHeard() {
    const found = state.own.trim() ? heard(state.own) : [];
    byId("heard").replaceChildren(...found.map((name) => symptom(name, "heard")));
    byId("heard-said").textContent = !state.own.trim() ? "" : found.length ? "It may be one of these. Tick what is so." : "Nothing on the list sounds like that. Look through the groups below; your words are sent along.";
    sync();
  }
  function showFamilies() {
    byId("families").replaceChildren(...data.families.map(([id, title]) => {
      const names = Object.keys(data.symptoms).filter((name) => data.symptoms[name].family === id && applies(data.symptoms[name]));
      return names.length ? el("details", { "data-family": id }, el("summary", {}, el("span", {}, title), " ", el("span", { class: "count" })),
        el("fieldset", { class: "plain" }, el("legend", { class: "hear" }, title), ...names.map((name) => symptom(name, "list")))) : null;
    }).filter(Boolean));
    sync();
  }
  function showQuestions(grown) {
    const all = ranked(), at = byId("questions"), begun = new Set(all.slice(0, state.limit).map((name) => groups.get(name)).filter(Boolean));
    const kept = data.ask ? all : all.filter((name, i) => i < state.limit || answered(name) || begun.has(groups.get(name)));
    at.replaceChildren(...kept.map(question));
    byId("more").hidden = kept.length >= all.length;
    byId("none").hidden = kept.length > 0;
    const numbers = data.numbers.filter((name) => sensible(name) && !kept.includes(name));
    byId("numbers").replaceChildren(...numbers.map(question));
    byId("sheet").hidden = !numbers.length;
    if (grown) { say(kept.length - grown + " more questions"); const next = at.children[grown]; if (next) next.querySelector("input").focus(); }
  }
  function refresh() { showFamilies(); showHeard(); showPart(); }
  function showPart() {
    const at = byId("part");
    if (!at || at.contains(document.activeElement)) return;
    at.replaceChildren(...data.first_asked.filter(sensible).map(question));
  }

  // -- photos: shrunk in the page; a canvas keeps neither place nor time ---------------------------------------------
  async function shrink(file) {
    let picture;
    try { picture = await createImageBitmap(file, { imageOrientation: "from-image" }); } catch { return null; }
    const scale = Math.min(1, LIMITS.side / Math.max(picture.width, picture.height));
    const canvas = el("canvas", { width: Math.max(1, Math.round(picture.width * scale)), height: Math.max(1, Math.round(picture.height * scale)) });
    const pen = canvas.getContext("2d");
    pen.fillStyle = "#fff"; pen.fillRect(0, 0, canvas.width, canvas.height);
    pen.drawImage(picture, 0, 0, canvas.width, canvas.height);
    if (picture.close) picture.close();
    return new Promise((done) => canvas.toBlob(done, "image/jpeg", LIMITS.quality));
  }
  async function taken(event) {
    const files = [...event.target.files];
    event.target.value = "";
    for (const file of files) {
      if (photos.length >= LIMITS.photos) { say("At most " + LIMITS.photos + " photos."); break; }
      const jpeg = await shrink(file);
      if (!jpeg) { say("That file is no picture that this browser can read."); continue; }
      photos.push({ of: "", jpeg });
    }
    await shelf.put();
    await showPhotos();
    say(photos.length + " photos kept");
  }
  async function showPhotos() {
    const rows = await Promise.all(photos.map(async (photo, i) => {
      const canvas = el("canvas", { role: "img", "aria-label": "Photo " + (i + 1) });
      try {
        const picture = await createImageBitmap(photo.jpeg), scale = 160 / Math.max(picture.width, picture.height);
        canvas.width = Math.round(picture.width * scale); canvas.height = Math.round(picture.height * scale);
        canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      } catch { /* shown without its picture */ }
      const id = "photo-" + i;
      return el("li", {}, canvas, el("label", { class: "small", for: id }, "What does photo " + (i + 1) + " show?"),
        el("input", { type: "text", id, value: photo.of, maxlength: 200, oninput: (e) => { photo.of = e.target.value; shelf.put(); } }),
        el("button", { type: "button", class: "quiet", onclick: async () => { photos.splice(i, 1); await shelf.put(); await showPhotos(); say("Photo removed"); byId("take").focus(); } }, "Remove photo " + (i + 1)));
    }));
    byId("photos").replaceChildren(...rows);
  }

  // -- what goes back -----------------------------------------------------------------------------------------------
  function answersOut() {
    const out = {}, lists = { seen: [], absent: [], unknown: [] }, loose = [];
    for (const name of seenNow()) lists.seen.push(name);
    for (const [name, told] of Object.entries(state.answers)) {
      const entry = data.questions[name];
      if (!entry || !answered(name) || !sensible(name)) continue;
      if (entry.kind === "symptom") { if (!lists.seen.includes(name)) lists[told.unknown ? "unknown" : told.values[0]].push(name); continue; }
      if (told.unknown) { out[name] = "unknown"; continue; }
      let value = told.values && (entry.kind === "many" ? told.values : told.values[0]), unsure = !!told.memory;
      if (entry.kind === "number") {
        const read = typed(told.text, entry.dimension);
        if (!read) { loose.push(entry.title + " " + told.text); continue; }
        unsure = unsure || read.unsure;
        value = read.text.includes(":") || ["1", "count", ""].includes(told.unit) ? read.text : read.text + " " + told.unit;
      }
      out[name] = unsure ? { value, source: "remembered" } : value;
    }
    const before = data.before, named = new Set([...lists.seen, ...lists.absent, ...lists.unknown]);
    for (const [key, list] of [["symptoms", lists.seen], ["symptoms_absent", lists.absent], ["symptoms_unknown", lists.unknown]]) {
      const all = [...(before[key] || []).filter((name) => !named.has(name)), ...list];
      if (all.length) out[key] = all;
    }
    return { out: { ...before, ...out }, loose };
  }
  function report(pictures) {
    const { out, loose } = answersOut(), about = {};
    const remarks = [state.own, state.about.remarks, ...loose].map((text) => (text || "").trim()).filter(Boolean).join(" / ");
    for (const name of ["part", "mold", "person", "date"]) if ((state.about[name] || "").trim()) about[name] = state.about[name].trim();
    if (remarks) about.remarks = remarks.slice(0, LIMITS.text);
    return { part_report: 1, id: data.id, client: data.client, round: data.round, token: state.token, knowledge: data.knowledge,
      warned: [...warned], case: { case: 1, title: about.part || "", answers: out, about }, photos: pictures };
  }
  const base64 = async (blob) => { const bytes = new Uint8Array(await blob.arrayBuffer()); let text = ""; for (let i = 0; i < bytes.length; i += 8192) text += String.fromCharCode(...bytes.subarray(i, i + 8192)); return btoa(text); };
  function crc32(bytes) {
    let crc = ~0;
    for (const byte of bytes) { crc ^= byte; for (let i = 0; i < 8; i++) crc = (crc >>> 1) ^ (crc & 1 ? 0xedb88320 : 0); }
    return (~crc >>> 0).toString(16).padStart(8, "0");
  }
  function lines() {
    const bytes = new TextEncoder().encode(JSON.stringify(report([])));
    const body = btoa(String.fromCharCode(...bytes)).replace(/.{1,64}/g, "$&\n");
    return "BEGIN PART REPORT 1\n" + body + "CHECK " + bytes.length + " " + crc32(bytes) + "\nEND PART REPORT\n";
  }
  async function file() {
    const pictures = [];
    for (const [i, photo] of photos.entries()) pictures.push({ name: "photo-" + (i + 1) + ".jpg", of: photo.of.slice(0, 200), jpeg: await base64(photo.jpeg) });
    return new File([JSON.stringify(report(pictures))], data.file_name, { type: "application/json" });
  }
  async function save() {
    const made = await file(), url = URL.createObjectURL(made);
    const link = el("a", { href: url, download: data.file_name });
    document.body.append(link); link.click(); link.remove();
    setTimeout(() => URL.revokeObjectURL(url), 60000);
    say("The file " + data.file_name + " was made. Now send it to us.");
    byId("saved").hidden = false;
  }
  async function copy() {
    const field = byId("lines");
    field.value = lines();
    field.focus(); field.select();
    let done = false;
    try { await navigator.clipboard.writeText(field.value); done = true; } catch { try { done = document.execCommand("copy"); } catch { /* by hand */ } }
    say(done ? "Copied. Paste it into a mail to us." : "Mark all of the text and copy it into a mail to us.");
  }

  // -- steps --------------------------------------------------------------------------------------------------------
  const panels = [...document.querySelectorAll(".panel")];
  function go(step, focus) {
    state.step = Math.max(0, Math.min(panels.length - 1, step));
    panels.forEach((panel, i) => { panel.hidden = i !== state.step; });
    byId("progress").textContent = "Step " + (state.step + 1) + " of " + panels.length;
    byId("lead").hidden = state.step > 0;
    byId("back").hidden = state.step === 0;
    byId("next").hidden = state.step === panels.length - 1;
    const shown = { part: showPart, questions: () => showQuestions(0), send: () => { byId("lines").value = lines(); } }[panels[state.step].dataset.panel];
    if (shown) shown();
    keep();
    if (focus) { window.scrollTo(0, 0); panels[state.step].querySelector("h2").focus(); }
  }
  function next() {
    const here = panels[state.step].dataset.panel;
    if (here === "safety" && state.well !== "yes") {
      byId("well-message").textContent = state.well === "no" ? "This page ends here until all are well." : state.well ? "Ask them, and look at each other, then answer yes or no." : "Answer this first.";
      byId("well-message").scrollIntoView({ block: "center" });
      return;
    }
    go(state.step + 1, true);
  }
  function radios(name, chosenNow, then) {
    for (const input of document.querySelectorAll("input[name=" + name + "]")) {
      input.checked = input.value === chosenNow;
      input.addEventListener("change", () => { then(input.value); keep(); });
    }
  }
  function fields() {
    for (const input of document.querySelectorAll("[data-about]")) {
      input.value = state.about[input.dataset.about] || "";
      input.addEventListener("input", () => { state.about[input.dataset.about] = input.value; keep(); });
    }
  }
  async function begin() {
    radios("well", state.well, (value) => { state.well = value; byId("well-message").textContent = ""; });
    radios("lump", state.lump, (value) => { state.lump = value; });
    radios("system", state.system, (value) => { state.system = value; });
    fields();
    const own = byId("own");
    if (own) {
      own.value = state.own;
      own.addEventListener("input", () => { state.own = own.value; showHeard(); keep(); });
      showFamilies(); showHeard();
    }
    byId("back").addEventListener("click", () => go(state.step - 1, true));
    byId("next").addEventListener("click", next);
    byId("more").addEventListener("click", () => { const before = byId("questions").childElementCount; state.limit += LIMITS.more; keep(); showQuestions(before); });
    for (const id of ["take", "pick"]) byId(id).addEventListener("change", taken);
    byId("save").addEventListener("click", save);
    byId("copy").addEventListener("click", copy);
    byId("anew").addEventListener("click", async () => {
      if (!window.confirm("Forget all answers and photos on this page?")) return;
      state = fresh(); photos = [];
      await shelf.put(); keep(); location.reload();
    });
    photos = await shelf.get();
    await showPhotos();
    go(state.step, false);
    document.body.dataset.ready = "yes";
  }
  begin();
})();
