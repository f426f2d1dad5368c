"""The order of mixing in the languages of crews."""

from estimating.mix_order import ENGLISH, OIL, Words

SPANISH = Words(
    kinds={
        "conditioner": "acondicionador del agua; que se mezcle antes de todo lo demás",
        "dry": "producto seco; que se moje y se disuelva bien antes del siguiente",
        "suspension": "suspensión; agite antes el envase",
        "emulsion": "concentrado emulsionable",
        "solution": "solución",
        "surfactant": "surfactante; agite con suavidad, hace espuma",
        "dye": "colorante marcador",
    },
    carriers={"water": "agua", OIL: "aceite"},
    add="Agregue {name} ({kind}): {amount}.",
    add_nothing="No agregue nada más: se usa como viene.",
    first_half="Ponga la mitad del {carrier} en el tanque limpio: {amount}.",
    keep_dry=" Que no le entre agua.",
    agitate="Agite y siga agitando; cierre y sacuda la mochila o la botella después de cada producto.",
    second_half="Complete con el resto del {carrier}: {amount}.",
    agitate_again="Agite otra vez. Si la etiqueta da otro orden, siga la etiqueta.",
    full_and_last="{full} en una carga completa, {last} en la última carga",
    dry_ounce="oz de peso",
    cautions=(
        "La etiqueta es la ley: si dice otra cosa que esta tarjeta, decide la etiqueta, también en el orden.",
        "Use lo que la etiqueta pide a quien mezcla y carga, y tenga agua a la mano para lavar salpicaduras.",
        "Nunca mezcle más de lo que pide el día. Nunca deje solo un tanque que se llena, ni la manguera en la mezcla.",
        "Una persona con licencia decide si esta mezcla se usa, dónde y quién la usa.",
    ),
)
WORDS = {"en": ENGLISH, "es": SPANISH}
