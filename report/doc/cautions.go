package doc

// Cautions go with any advice for the bench.
var Cautions = []string{
	"Work near mains can kill. Use only intact, certified leads with their insulation whole, the free end touch-proof.",
	"Open nothing that is plugged in.",
	"Never connect a measuring input to the mains.",
	"Never remove a protective earth. To break a loop use battery or double-insulated devices, or a signal transformer.",
	"Use a residual-current device.",
	"For a mains phase reference use only a certified isolated low-voltage AC adapter.",
	"Mute loudspeakers before unplugging a signal cable.",
	"Work under your local electrical codes, and leave mains wiring to licensed people.",
}

// cautionList is a box of them.
func cautionList() List {
	return List{Kind: Caution, ID: "caution", Title: "Before you go to the bench", Items: Cautions}
}
