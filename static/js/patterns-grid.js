// Lets the oil grid be worked like a spreadsheet: paste a block at a cell, move with the arrow keys.
"use strict";
(function () {
  function place(input) {
    const match = /^(cell|label|distance)-(\d+)(?:-(\d+))?$/.exec(input.name || "");
    if (!match) return null;
    if (match[1] === "distance") return { row: -1, column: Number(match[2]) };
    if (match[1] === "label") return { row: Number(match[2]), column: -1 };
    return { row: Number(match[2]), column: Number(match[3]) };
  }

  function at(row, column) {
    const name = row < 0 ? "distance-" + column : column < 0 ? "label-" + row : "cell-" + row + "-" + column;
    return document.getElementById(name);
  }

  function block(text) {
    return text.replace(/\r\n?/g, "\n").replace(/\n$/, "").split("\n").map(function (line) { return line.split("\t"); });
  }

  function say(words) {
    const note = document.getElementById("grid-note");
    if (note) note.textContent = words;
  }

  document.addEventListener("paste", function (event) {
    const start = event.target.closest && event.target.closest(".oil-grid") && place(event.target);
    const text = event.clipboardData ? event.clipboardData.getData("text") : "";
    if (!start || !/[\t\n]/.test(text.trim())) return;
    event.preventDefault();
    const lines = block(text);
    const fits = lines.every(function (line, i) {
      return line.every(function (_, j) { return at(start.row + i, start.column + j); });
    });
    if (!fits) {
      const area = document.getElementById("id_paste");
      area.closest("details").open = true;
      area.value = text;
      area.dispatchEvent(new Event("input", { bubbles: true }));
      area.focus();
      say("The block is larger than the table from that cell on. It is in the paste box: fill the table from there, or add rows and distances first.");
      return;
    }
    lines.forEach(function (line, i) {
      line.forEach(function (value, j) { at(start.row + i, start.column + j).value = value.trim(); });
    });
    event.target.dispatchEvent(new Event("input", { bubbles: true }));
    say(lines.length + " by " + Math.max.apply(null, lines.map(function (line) { return line.length; })) + " cells pasted.");
  });

  document.addEventListener("keydown", function (event) {
    const here = event.target.closest && event.target.closest(".oil-grid") && place(event.target);
    if (!here || event.altKey || event.ctrlKey || event.metaKey) return;
    const step = { ArrowUp: -1, ArrowDown: 1, Enter: 1 }[event.key];
    if (!step) return;
    const next = at(here.row + step, here.column);
    if (!next && event.key !== "Enter") return;
    event.preventDefault();
    if (next) { next.focus(); next.select(); }
  });
})();
