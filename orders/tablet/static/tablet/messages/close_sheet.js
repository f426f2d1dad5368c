// The day sheet.

export default {
  "sheet.title": { en: "Day sheet, {day}", es: "Hoja del día, {day}" },
  "sheet.is_confirmed": {
    en: "This day is confirmed. A change needs a reason.",
    es: "Este día ya está confirmado. Un cambio necesita motivo.",
  },
  "sheet.same_for_all": {
    en: "Same drive and other time for all as {name}",
    es: "Mismo camino y otros tiempos para todos que {name}",
  },
  "sheet.of": { en: "{name}", es: "{name}" },
  "sheet.paid": { en: "Paid time", es: "Tiempo pagado" },
  "sheet.from_site": { en: "from the drive to the site", es: "del camino al sitio" },
  "sheet.line_of": { en: "{what}, {name}", es: "{what}, {name}" },
  "sheet.which_line": { en: "Other time", es: "Otro tiempo" },
  "sheet.add_line": { en: "Add it", es: "Agregar" },
  "sheet.add_line_of": { en: "Add it for {name}", es: "Agregar para {name}" },
  "sheet.other_order": { en: "Another order", es: "Otra orden" },
  "sheet.shared": { en: "What each order bears", es: "Lo que carga cada orden" },
  "sheet.rule_minutes": {
    en: "Drive and rain standby are shared by minutes worked.",
    es: "El camino y la espera por lluvia se reparten según los minutos trabajados.",
  },
  "sheet.rule_equal": {
    en: "Drive and rain standby are shared in equal parts.",
    es: "El camino y la espera por lluvia se reparten en partes iguales.",
  },
  "sheet.order": { en: "Order", es: "Orden" },
  "sheet.sum": { en: "In all", es: "En total" },
  "sheet.confirm": { en: "Confirm the day for all", es: "Confirmar el día de todos" },
  "sheet.wrong_empty": { en: "No time is told yet.", es: "Todavía no hay tiempo anotado." },
  "sheet.wrong_long": { en: "{name}: more than 24 hours.", es: "{name}: más de 24 horas." },
};
