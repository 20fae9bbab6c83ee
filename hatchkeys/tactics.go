package hatchkeys

// Tactics lists every code that Form.Tactics may hold. Each is a short
// sentence on how to fish a form, which a view keeps in its language. Common
// practice, no source.
var Tactics = []string{
	"at-dusk", "bank-drop", "before-dawn", "burrower-rise", "cluster-slow-water",
	"dead-drift-seam", "deep-nymph-riffle", "dry-along-bank", "dun-slack-seam",
	"edge-first", "egg-layer-riffle", "film-dead-drift", "hang-in-film",
	"lift-nymph", "lift-pupa", "low-light-fine-tippet", "nymph-to-bank", "short-wing-edge",
	"skate-to-bank", "skitter-caddis", "slow-draw-nymph", "slow-water-nymph",
	"spinner-flat-evening", "spinner-flat-morning", "sunk-egg-layer",
	"swing-emerger", "swing-pupa", "twitch", "wait-for-spent",
	"warm-afternoon",
}
