"use strict";
(function () {
  const data = JSON.parse(document.getElementById("index").textContent);
  const box = document.getElementById("words");
  const list = document.getElementById("found");
  const told = document.getElementById("told");
  const IDLE = new Set(("a an and are as at be but by came come comes did do does for from get got had has have i if in is it its just like my of on " +
    "or out so some that the them then there they this to up was we went when where with you your").split(" "));

  // Words as ideas: small letters, no marks, the commonest endings off.
  function ideas(text) {
    const plain = text.normalize("NFD").replace(/[\u0300-\u036f'\u2019]/g, "").toLowerCase();
    return (plain.match(/[a-z0-9]+/g) || []).filter((word) => !IDLE.has(word)).map(stem);
  }
  function stem(word) {
    if (word.length < 4) return word;
    const bare = word.replace(/(ing|ed|es|ly|s|y)$/, "");
    const kept = bare.length < 3 ? word : bare;
    return kept.replace(/([b-df-hj-np-tv-z])\1$/, "$1").replace(/e$/, "");
  }

  // Each entry is a few texts: its title and first sentence, and one text a phrase of a caller.
  const entries = data.entries.map(([path, kind, title, said, phrases]) => ({
    path, kind, title, said, texts: [title + " " + said, title, ...phrases].map((text) => new Set(ideas(text))),
  }));
  const count = new Map();
  for (const entry of entries) {
    for (const idea of new Set(entry.texts.flatMap((text) => [...text]))) count.set(idea, (count.get(idea) || 0) + 1);
  }
  const weight = (idea) => Math.log(1 + entries.length / (count.get(idea) || 0.5));

  function near(idea) {
    if (count.has(idea) || idea.length < 3) return [idea];
    const longer = [...count.keys()].filter((known) => known.startsWith(idea) || (known.length > 3 && idea.startsWith(known)));
    return longer.length ? longer : [...count.keys()].filter((known) => slip(idea, known));
  }
  // One letter too many, too few, another, or two swapped.
  function slip(one, other) {
    if (Math.abs(one.length - other.length) > 1 || Math.min(one.length, other.length) < 4) return false;
    let start = 0;
    while (start < one.length && one[start] === other[start]) start += 1;
    let end = 0;
    while (end < Math.min(one.length, other.length) - start && one[one.length - 1 - end] === other[other.length - 1 - end]) end += 1;
    const a = one.slice(start, one.length - end), b = other.slice(start, other.length - end);
    return a.length + b.length <= 1 || (a.length === 1 && b.length === 1) || (a.length === 2 && b === a[1] + a[0]);
  }

  function score(entry, asked) {
    let whole = 0, best = 0;
    const have = asked.map(() => false);
    for (const text of entry.texts) {
      let here = 0;
      asked.forEach((forms, i) => {
        if (forms.some((form) => text.has(form))) {
          here += Math.min(...forms.filter((form) => text.has(form)).map(weight));
          have[i] = true;
        }
      });
      best = Math.max(best, here - 0.1 * Math.max(0, text.size - asked.length));
    }
    asked.forEach((forms, i) => { if (have[i]) whole += Math.min(...forms.map(weight)); });
    return best + 0.5 * whole + (entry.kind === "fault" ? 0.2 : 0);
  }

  function look() {
    const asked = [...new Set(ideas(box.value))].map(near).filter((forms) => forms.length);
    list.textContent = "";
    if (!box.value.trim()) { told.textContent = ""; return; }
    const found = entries.map((entry) => [score(entry, asked), entry]).filter(([points]) => points > 1)
      .sort((a, b) => b[0] - a[0] || (a[1].path < b[1].path ? -1 : 1)).slice(0, 20);
    told.textContent = found.length ? found.length + (found.length === 1 ? " entry" : " entries") + ", likeliest first" : "Nothing found: try other words, or the families below.";
    for (const [, entry] of found) {
      const item = document.createElement("li"), link = document.createElement("a"), kind = document.createElement("span");
      link.href = entry.path;
      link.textContent = entry.title;
      kind.className = "how";
      kind.textContent = data.kinds[entry.kind];
      item.append(kind, " ", link);
      if (entry.said) item.append(" \u2013 " + entry.said);
      list.append(item);
    }
  }
  box.addEventListener("input", look);
  document.getElementById("search").addEventListener("submit", (event) => { event.preventDefault(); look(); });
  document.getElementById("search").hidden = false;
  look();
})();
