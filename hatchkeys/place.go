package hatchkeys

import "math"

// Place is where a water lies, for dates: spring comes later uphill and
// toward the pole, autumn earlier.
type Place struct {
	// Latitude in degrees from the equator, north or south, 0 to 75.
	Latitude float64
	// Altitude above the sea in metres, -100 to 5000.
	Altitude float64
}

// Bounds of a Place.
const (
	MinLatitude, MaxLatitude = 0.0, 75.0
	MinAltitude, MaxAltitude = -100.0, 5000.0
)

// homes is where a pack's seasons hold: about the middle of the rivers that
// its sources and anglers speak of. Assumed.
var homes = map[string]Place{
	"west-na": {45, 1200},
	"east-na": {42, 300},
	"europe":  {51, 200},
	"south":   {44, 350}, // and its lands
}

// Hopkins' bioclimatic law: spring comes 4 days later for each degree of
// latitude and each 400 ft of altitude, and autumn as much earlier
// (Hopkins 1920, The bioclimatic law, Journal of the Washington Academy of
// Sciences 10:34-40; from memory). It was found on plants and land insects;
// for rivers, whose water has its own warmth, it is a first guess that one's
// own sightings should correct.
const (
	daysPerDegree = 4.0
	daysPerMetre  = 4.0 / 121.92 // 400 ft
	// maxShift bounds the guess in days.
	maxShift = 45.0
)

// shift is how many days later than at home spring comes at p.
func (p Place) shift(home Place) float64 {
	days := daysPerDegree*(p.Latitude-home.Latitude) + daysPerMetre*(p.Altitude-home.Altitude)
	return max(-maxShift, min(maxShift, days))
}

// turn is how a day of the northern year moves with a later spring: 1 moves
// later by as much (March to midsummer), -1 earlier (autumn), 0 not at all
// (midwinter), and in between it turns evenly. Assumed.
func turn(day float64) float64 {
	points := []struct{ day, turn float64 }{{0, 0}, {31, 0}, {60, 1}, {172, 1}, {265, -1}, {288, -1}, {335, 0}, {yearDays, 0}}
	for i := 1; i < len(points); i++ {
		if a, b := points[i-1], points[i]; day <= b.day {
			return a.turn + (b.turn-a.turn)*(day-a.day)/(b.day-a.day)
		}
	}
	return 0
}

// homeDay is the day on which a pack's home is as far in its year as the
// place is on the given day.
func (k *Key) homeDay(day int, p Place) int {
	home, ok := homes[packOf(k.Pack.ID)]
	if !ok {
		return day
	}
	north := float64(day)
	if packOf(k.Pack.ID) == south {
		north = math.Mod(north+yearDays/2, yearDays)
	}
	d := float64(day) - p.shift(home)*turn(north)
	return int(math.Round(d)+yearDays) % yearDays
}

// onDate is how far the hatch is in season, on a day or over a month.
func (k *Key) onDate(t *hatchTable, e *Evidence) float64 {
	first, end := monthDays[e.Month-1], monthDays[e.Month]
	if e.Day >= 1 {
		day := min(first+e.Day-1, end-1)
		if e.Place != nil {
			day = k.homeDay(day, *e.Place)
		}
		return t.day[day]
	}
	if e.Place == nil {
		return t.month[e.Month-1]
	}
	var sum float64
	for day := first; day < end; day++ {
		sum += t.day[k.homeDay(day, *e.Place)]
	}
	return sum / float64(end-first)
}

// Home is the place at which the seasons of a region's pack hold.
func Home(region string) (Place, bool) {
	p, ok := homes[packOf(region)]
	return p, ok
}
