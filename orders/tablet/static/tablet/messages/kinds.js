// What a person reads for each kind of command.

export default {
  "kind.check-in": { en: "Check-in", es: "Llegada" },
  "kind.check-in-longer": { en: "Staying longer", es: "Aviso de quedarse más" },
  "kind.check-out": { en: "Check-out", es: "Salida" },
  "kind.briefing": { en: "Tailgate briefing", es: "Charla de seguridad" },
  "kind.start-order": { en: "Order started", es: "Orden empezada" },
  "kind.visit-not-done": { en: "Visit not done", es: "Visita no realizada" },
  "kind.time-span": { en: "Time worked", es: "Tiempo trabajado" },
  "kind.mix-batch": { en: "Mix batch", es: "Mezcla preparada" },
  "kind.application": { en: "Application", es: "Aplicación" },
  "kind.mix-day-end": { en: "End of day of a mix", es: "Cierre del día de una mezcla" },
  "kind.weather-check": { en: "Weather check", es: "Revisión del tiempo" },
  "kind.application-record": { en: "Application record", es: "Registro de aplicación" },
  "kind.incident": { en: "Report", es: "Reporte" },
  "kind.sign": { en: "Sign posted or taken down", es: "Letrero puesto o quitado" },
  "kind.photo": { en: "Photo", es: "Foto" },
  "kind.detection": { en: "New detection", es: "Hallazgo nuevo" },
  "kind.close-order": { en: "Close-out", es: "Cierre de la orden" },
  "kind.amend-order": { en: "Amended close-out", es: "Corrección del cierre" },
  "kind.day-sheet": { en: "Day sheet", es: "Hoja del día" },
};
