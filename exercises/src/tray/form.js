"use strict";
(function () {
  var form = document.getElementById("form");
  var text = document.getElementById("text");
  var said = document.getElementById("said");
  function quoted(value) {
    return '"' + value.replace(/[\\"]/g, "\\$&").replace(/[\u0000-\u001f\u007f]/g, " ") + '"';
  }
  function now() {
    var at = new Date();
    function two(n) { return (n < 10 ? "0" : "") + n; }
    return at.getFullYear() + "-" + two(at.getMonth() + 1) + "-" + two(at.getDate()) +
      "T" + two(at.getHours()) + ":" + two(at.getMinutes());
  }
  function answers() {
    var out = "version = " + form.dataset.version + "\nlab = " + quoted(form.dataset.lab) +
      "\ntray = " + quoted(form.dataset.tray) + "\ngroup = " + form.dataset.group +
      "\nnames = " + quoted(document.getElementById("names").value) +
      "\nhanded_in = " + quoted(now()) + "\n\n[answers]\n";
    var fields = form.querySelectorAll("input[data-question]");
    for (var i = 0; i < fields.length; i += 1) {
      out += fields[i].dataset.question + " = " + quoted(fields[i].value) + "\n";
    }
    return out;
  }
  function blanks() {
    var fields = form.querySelectorAll("input[data-question]");
    var left = [];
    for (var i = 0; i < fields.length; i += 1) {
      if (fields[i].value.trim() === "") { left.push(fields[i].dataset.question); }
    }
    return left.length ? " Left blank: " + left.join(", ") + "." : " All questions are answered.";
  }
  document.getElementById("show").addEventListener("click", function () {
    text.value = answers();
    said.textContent = "The text stands below." + blanks();
    text.focus();
    text.select();
  });
  document.getElementById("save").addEventListener("click", function () {
    text.value = answers();
    var link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([text.value], { type: "text/plain" }));
    link.download = form.dataset.file;
    document.body.appendChild(link);
    link.click();
    document.body.removeChild(link);
    said.textContent = "Saved as " + form.dataset.file + ", where your browser keeps downloads." + blanks();
  });
  form.addEventListener("submit", function (event) { event.preventDefault(); });
}());
