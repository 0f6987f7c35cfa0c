// Turns minutes into dates, draws the panels and keeps their time axes together.
(function () {
  "use strict";
  var page = JSON.parse(document.getElementById("course").textContent);
  var start = Date.parse(page.start + "T00:00:00Z"), minute = 60000;
  var whole = [start, start + page.minutes * minute];
  var coarse = window.matchMedia("(pointer: coarse)").matches;
  var plots = [], busy = false;

  function prepare(trace) {
    if (trace.m) { trace.x = trace.m.map(function (m) { return start + m * minute; }); delete trace.m; }
    if (trace.when) { trace.x = trace.when.map(function (w) { return Date.parse(w.replace(" ", "T") + ":00Z"); }); delete trace.when; }
    if (trace.bar) { trace.width = Math.max(2.5 * 3600000, page.minutes * minute / 170); trace.offset = 0; delete trace.bar; }
    return trace;
  }

  function everyOther(plot, action) {
    plots.forEach(function (other) { if (other !== plot) { action(other); } });
  }

  function follow(plot, change) {
    if (busy) { return; }
    var from = change["xaxis.range[0]"], range = change["xaxis.range"], wanted = null;
    if (from !== undefined) { wanted = [from, change["xaxis.range[1]"]]; }
    else if (range) { wanted = range; }
    else if (change["xaxis.autorange"]) { wanted = whole; }
    if (wanted) { show(wanted, plot); }
  }

  function show(range, except) {
    busy = true;
    Promise.all(plots.map(function (plot) {
      if (plot === except && range !== whole) { return null; }
      return Plotly.relayout(plot, {"xaxis.range": range.slice(), "xaxis.autorange": false});
    })).then(function () { busy = false; }, function () { busy = false; });
  }

  function hair(plot, x) {
    var line = plot.parentNode.querySelector(".hair"), axis = plot._fullLayout && plot._fullLayout.xaxis;
    var at = axis && x !== null ? axis.d2p(x) : NaN;
    var inside = at >= 0 && at <= (axis ? axis._length : 0);
    line.style.display = inside ? "block" : "none";
    if (inside) { line.style.left = (axis._offset + at) + "px"; }
  }

  page.panels.forEach(function (panel) {
    var plot = document.getElementById(panel.id), layout = panel.layout;
    layout.xaxis.range = whole.slice();
    layout.height = panel.height;
    layout.autosize = true;
    layout.dragmode = coarse ? false : "zoom";
    Plotly.newPlot(plot, panel.data.map(prepare), layout, {displayModeBar: false, responsive: true, doubleClick: "reset"});
    plots.push(plot);
    plot.on("plotly_relayout", function (change) { follow(plot, change); });
    plot.on("plotly_hover", function (event) {
      var x = event.xvals ? event.xvals[0] : event.points[0].x;
      everyOther(plot, function (other) { hair(other, x); });
    });
    plot.on("plotly_unhover", function () { plots.forEach(function (other) { hair(other, null); }); });
  });

  Array.prototype.forEach.call(document.querySelectorAll("button[data-from]"), function (button) {
    button.addEventListener("click", function () {
      show([start + Number(button.dataset.from) * minute, start + Number(button.dataset.to) * minute], null);
    });
  });

  window.addEventListener("beforeprint", function () {
    plots.forEach(function (plot) { Plotly.relayout(plot, {autosize: false, width: 640}); });
  });
  window.addEventListener("afterprint", function () {
    plots.forEach(function (plot) { Plotly.relayout(plot, {autosize: true, width: null}); });
  });
})();
