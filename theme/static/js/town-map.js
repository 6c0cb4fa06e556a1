/* Makes the map that map-setup.js has drawn answer: layers and seasons, squares by mouse, touch
   and keyboard, street names, listed places. Figures and words come from map-data.js. */
(function () {
  "use strict";

  var data = window.eavelineTownMap;
  var byId = function (id) { return document.getElementById(id); };
  if (!data || !window.L || !byId("map_town")) { return; }

  var map = window.map_town;
  var squares = window.geo_json_squares;
  var streets = window.geo_json_streets;
  var chosen = { layer: data.layers[0].key, season: data.seasons[0][0], street: "", square: null };
  var layerByKey = {};
  data.layers.forEach(function (layer) { layerByKey[layer.key] = layer; });

  var indexById = {};
  data.regions.forEach(function (region, index) { indexById[region[0]] = index; });
  var shapes = []; // Leaflet's polygon of each region, in the data's order
  squares.eachLayer(function (shape) { shapes[indexById[shape.feature.id]] = shape; });
  var streetLines = {};
  streets.eachLayer(function (line) { streetLines[line.feature.id] = line; });

  // ---- What a square says

  function step(layer, season, index) {
    var letter = layer.figures[season].charAt(index);
    return letter === "-" ? -1 : letter.charCodeAt(0) - 97;
  }

  function fill(message, values) {
    return message.replace(/%\((\w+)\)s/g, function (all, name) { return values[name]; });
  }

  /* Words with a number in them: one form for each kind of number the language has. */
  function counted(forms, count, values) {
    var form = forms[new Intl.PluralRules(data.language).select(count)] || forms.other;
    values.num = count.toLocaleString(data.language);
    return fill(form, values);
  }

  function words(layer, season, index) {
    var text = layer.words[step(layer, season, index) + 1];
    var sure = layer.surest[season] ? layer.surest[season].charCodeAt(index) - 97 : 0;
    return sure ? fill(data.words.sure, { answer: text, evidence: data.evidence[sure] }) : text;
  }

  function summary(index) {
    var layer = layerByKey[chosen.layer];
    return fill(layer.key === "watching" ? data.words.square : data.words.watched, {
      name: data.regions[index][1],
      premises: counted(data.words.premises, data.regions[index][2], {}),
      answer: words(layer, chosen.season, index),
      watching: words(layerByKey.watching, chosen.season, index)
    });
  }

  // ---- Drawing

  /* The squares are a group of buttons; what lies over and under them is for the eye alone. */
  function nameDrawings() {
    ["greens", "water", "streets", "edge", "names"].forEach(function (name) {
      map.getPane(name).setAttribute("aria-hidden", "true");
    });
    var drawing = shapes[0].getElement().ownerSVGElement;
    drawing.setAttribute("role", "group");
    drawing.setAttribute("aria-label", data.words.squares);
    ["in", "out"].forEach(function (way) {
      var button = map.getContainer().querySelector(".leaflet-control-zoom-" + way);
      button.title = data.words[way];
      button.setAttribute("aria-label", data.words[way]);
    });
  }

  function hatch() {
    // The squares' own drawing gets the pattern; Leaflet keeps it when it redraws.
    var drawing = shapes[0].getElement().ownerSVGElement;
    var space = "http://www.w3.org/2000/svg";
    var pattern = document.createElementNS(space, "pattern");
    [["id", "map-hatch"], ["width", 9], ["height", 9], ["patternUnits", "userSpaceOnUse"],
      ["patternTransform", "rotate(45)"]].forEach(function (pair) {
      pattern.setAttribute(pair[0], pair[1]);
    });
    var line = document.createElementNS(space, "path");
    line.setAttribute("d", "M0 0v9");
    line.setAttribute("stroke", data.hatch);
    line.setAttribute("stroke-width", "2");
    pattern.appendChild(line);
    var defs = document.createElementNS(space, "defs");
    defs.appendChild(pattern);
    drawing.insertBefore(defs, drawing.firstChild);
  }

  function colour() {
    var layer = layerByKey[chosen.layer];
    shapes.forEach(function (shape, index) {
      var at = step(layer, chosen.season, index) + 1;
      shape.setStyle({
        color: layer.edge,
        weight: 1,
        fillColor: at === 0 ? "url(#map-hatch)" : layer.fills[at],
        fillOpacity: 0.9
      });
      shape.getElement().setAttribute("aria-label", summary(index));
    });
    label();
  }

  function swatch(layer, at) {
    var hatched = at === 0;
    return '<svg class="swatch" viewBox="0 0 16 16" width="16" height="16" aria-hidden="true">' +
      '<path d="M1 1h14v14H1z" fill="' + (hatched ? data.paper : layer.fills[at]) +
      '" stroke="' + layer.edge + '"/>' +
      (hatched ? '<path d="M1 8 8 1M1 15 15 1M8 15l7-7" stroke="' + data.hatch +
        '" stroke-width="2"/>' : "") + "</svg>";
  }

  function explain() {
    var layer = layerByKey[chosen.layer];
    var list = byId("map-legend");
    list.textContent = "";
    layer.words.forEach(function (text, at) {
      if (at === 0 && !layer.threeAnswers) { return; }
      var item = document.createElement("li");
      item.innerHTML = swatch(layer, at) + " ";
      var span = document.createElement("span");
      span.textContent = text;
      item.appendChild(span);
      list.appendChild(item);
    });
    byId("map-showing").textContent =
      fill(data.words.showing, { layer: layer.title, season: seasonWords() });
  }

  function seasonWords() {
    return data.seasons.filter(function (pair) { return pair[0] === chosen.season; })[0][1];
  }

  function fillTable() {
    var rows = byId("map-table-rows").rows;
    data.regions.forEach(function (region, index) {
      data.layers.forEach(function (layer, column) {
        rows[index].cells[3 + column].textContent =
          layer.cells[step(layer, chosen.season, index) + 1];
      });
    });
    byId("map-table-caption").textContent = fill(data.words.table, { season: seasonWords() });
  }

  // ---- Letters: the squares' figures, then street names where they fit

  var letters = L.layerGroup().addTo(map);
  var NAME_PX = 12;
  var ruler = document.createElement("canvas").getContext("2d");
  ruler.font = "600 " + NAME_PX + "px system-ui, sans-serif";

  function write(latLng, text, className, turn, colour) {
    var span = document.createElement("span");
    span.textContent = text;
    if (turn) { span.style.transform = "translate(-50%, -50%) rotate(" + turn + "deg)"; }
    if (colour) { span.style.color = colour; }
    L.marker(latLng, {
      pane: "names", interactive: false, keyboard: false,
      icon: L.divIcon({ className: className, html: span, iconSize: [0, 0] })
    }).addTo(letters);
  }

  function label() {
    letters.clearLayers();
    var view = map.getBounds();
    var taken = [];
    var east = map.latLngToLayerPoint(L.latLng(view.getCenter().lat, view.getEast()));
    var west = map.latLngToLayerPoint(L.latLng(view.getCenter().lat, view.getWest()));
    var metres = map.distance(
      L.latLng(view.getCenter().lat, view.getWest()), L.latLng(view.getCenter().lat, view.getEast()));
    var squarePx = data.squareSize * (east.x - west.x) / metres;
    map.getContainer().classList.toggle("map-far", squarePx < 26);
    var layer = layerByKey[chosen.layer];
    var marks = data.sites.map(function (site) { return map.latLngToLayerPoint(site[0]); });
    if (squarePx >= 26) {
      data.regions.forEach(function (region, index) {
        var at = step(layer, chosen.season, index) + 1;
        if (!layer.labels[at] || !view.contains(region[4])) { return; }
        var spot = map.latLngToLayerPoint(region[4]);
        var crowded = marks.some(function (mark) { return mark.distanceTo(spot) < 20; });
        if (crowded && squarePx < 60) { return; } // no room for both; the mark stays
        if (crowded) { spot = spot.subtract([0, 22]); }
        write(map.layerPointToLatLng(spot), layer.labels[at], "map-figure-in", 0, layer.letters[at]);
        taken.push([spot.x - 16, spot.y - 9, spot.x + 16, spot.y + 9]);
      });
    }
    if (squarePx < 34) { return; }
    data.streets.map(function (street) {
      var line = streetLines[street[0]];
      return line && line.getBounds().intersects(view) ? place(street[1], line) : null;
    }).filter(Boolean).sort(function (a, b) { return b.room - a.room; }).forEach(function (name) {
      var clear = taken.every(function (box) {
        return name.box[0] > box[2] || name.box[2] < box[0] || name.box[1] > box[3] || name.box[3] < box[1];
      });
      if (!clear) { return; }
      taken.push(name.box);
      write(map.layerPointToLatLng(name.at), name.text, "map-street-name", name.turn);
    });
  }

  /* The middle of a street's longest line, if its name has room along it. */
  function place(text, line) {
    var wide = ruler.measureText(text).width;
    var best = null;
    var parts = line.getLatLngs();
    (L.LineUtil.isFlat(parts) ? [parts] : parts).forEach(function (part) {
      var points = part.map(function (latLng) { return map.latLngToLayerPoint(latLng); });
      var long = 0;
      for (var i = 1; i < points.length; i += 1) { long += points[i].distanceTo(points[i - 1]); }
      if (!best || long > best.long) { best = { long: long, points: points }; }
    });
    if (!best || best.long < wide + 8) { return null; }
    var from = along(best.points, (best.long - wide) / 2);
    var to = along(best.points, (best.long + wide) / 2);
    var turn = Math.atan2(to.y - from.y, to.x - from.x) * 180 / Math.PI;
    if (turn > 90) { turn -= 180; }
    if (turn < -90) { turn += 180; }
    // A winding street would carry its name far from itself.
    if (from.distanceTo(to) < wide * 0.9) { return null; }
    var at = along(best.points, best.long / 2);
    var half = [Math.abs(to.x - from.x) / 2 + 7, Math.abs(to.y - from.y) / 2 + 7];
    return {
      text: text, at: at, turn: turn, room: best.long - wide,
      box: [at.x - half[0], at.y - half[1], at.x + half[0], at.y + half[1]]
    };
  }

  function along(points, distance) {
    for (var i = 1; i < points.length; i += 1) {
      var leg = points[i].distanceTo(points[i - 1]);
      if (leg >= distance && leg > 0) {
        return points[i - 1].add(points[i].subtract(points[i - 1]).multiplyBy(distance / leg));
      }
      distance -= leg;
    }
    return points[points.length - 1];
  }

  // ---- Squares by mouse, touch and keyboard: one stop for Tab, arrows from square to square

  var ringUnder = L.polygon([], { pane: "names", interactive: false, fill: false, color: "#ffffff", weight: 7 });
  var ringOver = L.polygon([], { pane: "names", interactive: false, fill: false, color: data.ink, weight: 3 });
  var marked = L.layerGroup([ringUnder, ringOver]).addTo(map);
  var stop = 0;

  function ring(index) {
    var outline = index === null ? [] : shapes[index].getLatLngs();
    ringUnder.setLatLngs(outline);
    ringOver.setLatLngs(outline);
  }

  function moveStop(index) {
    shapes[stop].getElement().setAttribute("tabindex", "-1");
    stop = index;
    shapes[stop].getElement().setAttribute("tabindex", "0");
  }

  function neighbour(index, dx, dy) {
    var from = map.latLngToLayerPoint(data.regions[index][4]);
    var best = null;
    data.regions.forEach(function (region, other) {
      if (other === index) { return; }
      var to = map.latLngToLayerPoint(region[4]).subtract(from);
      var ahead = to.x * dx + to.y * dy;
      var aside = Math.abs(to.x * dy - to.y * dx);
      if (ahead <= 0 || aside > ahead) { return; }
      var far = ahead + 2 * aside;
      if (!best || far < best.far) { best = { index: other, far: far }; }
    });
    return best ? best.index : null;
  }

  var MOVES = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] };

  function prepare(shape, index) {
    var element = shape.getElement();
    element.setAttribute("tabindex", index === stop ? "0" : "-1");
    element.setAttribute("role", "button");
    element.setAttribute("aria-pressed", "false");
    // Under a finger a tip would hide the square it is about; what is read beside the map says more.
    if (window.matchMedia("(hover: hover)").matches) {
      shape.bindTooltip(function () { return escape(summary(index)); }, { sticky: true, className: "map-tip" });
    }
    shape.on("click", function () { read(index); bringIntoView(); });
    element.addEventListener("focus", function () {
      moveStop(index);
      ring(index);
      map.panInside(data.regions[index][4], { padding: [60, 60] });
      if (element.matches(":focus-visible")) { shape.openTooltip(data.regions[index][4]); }
    });
    element.addEventListener("blur", function () {
      shape.closeTooltip();
      ring(chosen.square);
    });
    element.addEventListener("keydown", function (event) {
      if (event.key === "Enter" || event.key === " ") {
        read(index);
        bringIntoView();
      } else if (MOVES[event.key]) {
        var next = neighbour(index, MOVES[event.key][0], MOVES[event.key][1]);
        if (next !== null) { shapes[next].getElement().focus({ preventScroll: true }); }
      } else if (event.key === "+" || event.key === "=") {
        map.zoomIn();
      } else if (event.key === "-") {
        map.zoomOut();
      } else {
        return;
      }
      event.preventDefault();
      event.stopPropagation(); // the map itself would pan
    });
  }

  function escape(text) {
    var span = document.createElement("span");
    span.textContent = text;
    return span.innerHTML;
  }

  /* Puts one square's figures, in every layer, beside the map. */
  function read(index) {
    if (chosen.square !== null) {
      shapes[chosen.square].getElement().setAttribute("aria-pressed", "false");
    }
    chosen.square = index;
    shapes[index].getElement().setAttribute("aria-pressed", "true");
    ring(index);
    var region = data.regions[index];
    var panel = byId("map-reading");
    panel.hidden = false;
    panel.textContent = "";
    add(panel, "h2", region[1]);
    add(panel, "p", counted(data.words.share, region[2], { season: seasonWords() }));
    var list = add(panel, "dl");
    data.layers.forEach(function (layer) {
      add(list, "dt", layer.title);
      add(list, "dd", words(layer, chosen.season, index));
    });
    var shown = data.sites.filter(function (site) { return site[2] === index; });
    if (shown.length) {
      add(panel, "h3", data.words.listed);
      var places = add(panel, "ul");
      shown[0][1].forEach(function (text) { add(places, "li", text); });
    }
    if (region[3].length) {
      add(panel, "h3", data.words.streets);
      var names = add(panel, "ul");
      region[3].forEach(function (number) {
        var link = add(add(names, "li"), "a", data.streets[number][1]);
        link.href = data.root + "streets/" + data.streets[number][0] + "/index.html";
      });
    }
  }

  /* On a phone the reading stands below the map, perhaps below the screen: show its first lines. */
  function bringIntoView() {
    var below = byId("map-reading").getBoundingClientRect().top - 0.6 * window.innerHeight;
    if (below > 0.1 * window.innerHeight) { window.scrollBy(0, below); }
  }

  function add(parent, tag, text) {
    var element = document.createElement(tag);
    if (text) { element.textContent = text; }
    parent.appendChild(element);
    return element;
  }

  // ---- Streets and listed places

  var streetUnder = L.polyline([], { pane: "names", interactive: false, color: "#ffffff", weight: 9 });
  var streetOver = L.polyline([], { pane: "names", interactive: false, color: data.ink, weight: 5 });
  marked.addLayer(streetUnder).addLayer(streetOver);

  function goToStreet() {
    var line = streetLines[chosen.street];
    streetUnder.setLatLngs(line ? line.getLatLngs() : []);
    streetOver.setLatLngs(line ? line.getLatLngs() : []);
    var number = data.streets.map(function (street) { return street[0]; }).indexOf(chosen.street);
    data.regions.some(function (region, index) {
      if (region[3].indexOf(number) < 0) { return false; }
      moveStop(index); // Tab then leads to the street's own squares
      return true;
    });
    map.fitBounds(line ? line.getBounds().pad(0.4) : squares.getBounds(), { maxZoom: 16.5, animate: false });
  }

  data.sites.forEach(function (site) {
    var text = site[1].join("; ");
    var marker = L.marker(site[0], {
      alt: text, riseOnHover: true,
      icon: L.divIcon({
        className: "map-listed-mark", iconSize: [26, 26],
        html: '<svg viewBox="-10 -11 20 20" width="26" height="26" aria-hidden="true"><path d="' +
          data.mark + '"/></svg>'
      })
    }).bindTooltip(escape(text), { className: "map-tip" }).addTo(map);
    marker.getElement().setAttribute("aria-label", text);
    // Leaflet makes a click of Enter as well.
    marker.on("click", function () { if (site[2] >= 0) { read(site[2]); bringIntoView(); } });
  });

  // ---- Choices, which the address remembers so that a view can be sent to somebody

  function remember() {
    var parts = ["layer=" + chosen.layer, "season=" + chosen.season];
    if (chosen.street) { parts.push("street=" + chosen.street); }
    try { history.replaceState(null, "", "#" + parts.join("&")); } catch (ignored) { /* file:// */ }
  }

  function recall() {
    location.hash.slice(1).split("&").forEach(function (part) {
      var pair = part.split("=");
      var control = byId("map-" + pair[0]);
      if (!control || control.tagName !== "SELECT") { return; }
      var known = Array.prototype.some.call(control.options, function (option) {
        return option.value === pair[1];
      });
      if (known) { chosen[pair[0]] = control.value = pair[1]; }
    });
  }

  function show() {
    colour();
    explain();
    fillTable();
    if (chosen.square !== null) { read(chosen.square); }
  }

  byId("map-choices").addEventListener("submit", function (event) { event.preventDefault(); });
  ["layer", "season", "street"].forEach(function (name) {
    var control = byId("map-" + name);
    control.addEventListener("change", function () {
      chosen[name] = control.value;
      if (name === "street") { goToStreet(); } else { show(); }
      remember();
    });
  });

  // The page's wheel scrolls the page until the reader has taken hold of the map.
  map.on("click focus", function () { map.scrollWheelZoom.enable(); });
  map.getContainer().addEventListener("mouseleave", function () { map.scrollWheelZoom.disable(); });

  // A sheet of paper has another shape than the screen: what was looked at is fitted into it.
  var looked = null;
  function fitAgain(onPaper) {
    if (onPaper) { looked = map.getBounds(); }
    map.setMinZoom(0);
    map.invalidateSize({ animate: false, pan: false });
    if (looked) { map.fitBounds(looked, { animate: false }); }
  }
  window.matchMedia("print").addEventListener("change", function (event) { fitAgain(event.matches); });

  byId("map-still").hidden = true;
  byId("map-moving").hidden = false;
  byId("map-choices").hidden = false;
  map.invalidateSize({ animate: false });
  map.fitBounds(squares.getBounds(), { animate: false });
  map.setMinZoom(map.getZoom() - 0.5);
  map.setMaxBounds(squares.getBounds().pad(0.4));
  nameDrawings();
  hatch();
  shapes.forEach(prepare);
  recall();
  show();
  map.on("moveend", label);
  if (chosen.street) { goToStreet(); }
  map.getContainer().setAttribute("data-ready", "true");
}());
