/* Looks through the words that search/index.js holds. Nothing typed here leaves the page. */
(function () {
  "use strict";

  var data = window.eavelineSearch;
  var byId = function (id) { return document.getElementById(id); };
  if (!data || !byId("search")) { return; }

  var MOST = 40;
  var field = byId("search-words");
  var list = byId("search-found");

  /* Without case, accents or apostrophes, so that "sohne" finds "Söhne". */
  function fold(text) {
    return text.normalize("NFD").replace(/[\u0300-\u036f'’]/g, "").toLowerCase();
  }

  function split(text) {
    return fold(text).split(/[^\p{L}\p{N}]+/u).filter(Boolean);
  }

  var entries = data.streets.map(function (street) {
    return { title: street[0], about: "", path: "streets/" + street[1] + "/index.html",
      first: split(street[0]), rest: [] };
  }).concat(data.pages.map(function (page) {
    return { title: page[1], about: page[2], path: page[0],
      first: split(page[1]), rest: split(page[2] + " " + page[3]) };
  }));

  function starts(words, sought) {
    return words.some(function (word) { return word.indexOf(sought) === 0; });
  }

  /* 0: not found. Words of the title count three times those of the text. */
  function score(entry, sought) {
    var total = 0;
    var all = sought.every(function (word) {
      var found = starts(entry.first, word) ? 3 : starts(entry.rest, word) ? 1 : 0;
      total += found;
      return found;
    });
    return all ? total + (entry.first[0] && entry.first[0].indexOf(sought[0]) === 0 ? 1 : 0) : 0;
  }

  /* Words with a number in them: one form for each kind of number the language has. */
  function counted(forms, count) {
    var form = forms[new Intl.PluralRules(data.language).select(count)] || forms.other;
    return form.replace("%(num)s", count.toLocaleString(data.language))
      .replace("%(most)s", MOST.toLocaleString(data.language));
  }

  function say(found) {
    if (!found.length) { return data.words.none; }
    return counted(found.length > MOST ? data.words.more : data.words.found, found.length);
  }

  function show() {
    var sought = split(field.value);
    list.textContent = "";
    byId("search-count").textContent = "";
    if (!sought.length) { return; }
    var found = entries.map(function (entry) {
      return { entry: entry, score: score(entry, sought) };
    }).filter(function (hit) { return hit.score; });
    found.sort(function (a, b) { return b.score - a.score; }); // stable: else as in the index
    byId("search-count").textContent = say(found);
    found.slice(0, MOST).forEach(function (hit) {
      var item = document.createElement("li");
      var link = document.createElement("a");
      link.href = "../" + hit.entry.path;
      link.textContent = hit.entry.title;
      item.appendChild(link);
      if (hit.entry.about) {
        var about = document.createElement("span");
        about.textContent = hit.entry.about;
        item.appendChild(about);
      }
      list.appendChild(item);
    });
  }

  field.addEventListener("input", show);
  byId("search-off").hidden = true;
  byId("search").hidden = false;
  field.focus({ preventScroll: true });
  if (field.value) { show(); } // the browser kept it on the way back
}());
