/* Shows what is wrong, and loads the page again when it has been rebuilt. Only in the preview. */
(function () {
  "use strict";

  var shown = null;

  function tell(state) {
    var box = document.getElementById("eaveline-preview");
    if (!box) {
      box = document.createElement("aside");
      box.id = "eaveline-preview";
      box.setAttribute("role", "status");
      box.setAttribute("aria-label", "Preview");
      document.body.insertBefore(box, document.body.firstChild);
    }
    box.textContent = "";
    box.className = state.problems.length ? "wrong" : "";
    var line = document.createElement("p");
    line.textContent = "Preview: " + state.doing;
    box.appendChild(line);
    var list = document.createElement("ul");
    state.problems.forEach(function (problem) {
      var item = document.createElement("li");
      item.textContent = problem;
      list.appendChild(item);
    });
    if (state.problems.length) { box.appendChild(list); }
  }

  function wait(after) {
    fetch("/-preview/state?after=" + after).then(function (answer) {
      return answer.json();
    }).then(function (state) {
      if (shown !== null && state.built !== shown) { location.reload(); return; }
      shown = state.built;
      tell(state);
      wait(state.version);
    }).catch(function () {
      tell({ doing: "it has stopped. Start it again with eaveline preview.", problems: [] });
      setTimeout(function () { wait(-1); }, 2000);
    });
  }

  wait(-1);
}());
