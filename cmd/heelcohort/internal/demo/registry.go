package demo

// A Registry is the invented registry in memory.
type Registry struct {
	Participants []Participant
	Episodes     []Episode
	Exposures    []Exposure
	Visits       []Visit
}

// A Measure is a number or the missing code written in its place; the empty
// code is an empty cell.
type Measure struct {
	Value   float64
	Missing bool
	Code    string
}

// known is a measure with a value.
func known(x float64) Measure { return Measure{Value: x} }

// none is a missing measure.
func none(code string) Measure { return Measure{Missing: true, Code: code} }

// A Participant is one child. Arrays of two hold the right foot, then the left.
type Participant struct {
	ID, Site, CohortSeason        string
	Consent                       bool
	Sex                           string // or a missing code
	AgeEnrolled                   float64
	Height, SittingHeight, Weight Measure
	MainSport                     string
	SportsN, SeasonsN             int // SeasonsN: with hours recorded
	FPI                           [2][6]Measure
	FPISecond                     Measure
	ArchIndex, Navicular          [2]Measure
	Rearfoot, Lunge               [2]Measure
	LastContact                   int
	ExitReason                    string
	Arch                          string // true arch type, also where items are missing; not written
}

// An Episode is one spell of one heel.
type Episode struct {
	ID, Participant, Heel     string
	Child                     int // index of the participant; not written
	Spell                     int
	Onset                     int
	OnsetPrecision            string
	Diagnosed                 int
	RecurrenceNo              int
	SportAtOnset, OnsetType   string
	Signs                     [6]string // in the order of signNames; true, false or a missing code
	PainSite                  string
	Treatments, OrthosisClass string
	OrthosisStart, VASOnset   Measure
	Training, Match, Painfree Interval
	EndType                   string
	EndDay                    int
}

// An Interval is the last contact without and the first contact with a state;
// High is missing while it was not seen.
type Interval struct{ Low, High Measure }

// An Exposure is one child's hours in one sport over one interval [From, To).
type Exposure struct {
	Participant, Sport, Season      string
	Child                           int // index of the participant; not written
	SeasonWeek, From, To            int
	SessionsTraining, SessionsMatch Measure
	HoursTraining, HoursMatch       float64
}

// A Visit is one contact with a child.
type Visit struct {
	ID, Participant, Episode     string // Episode is "" where the contact concerns none
	Day                          int
	Planned, Mode, Rater         string
	VASRest, VASSport, NRS, FPSR Measure
	OxChild, OxParent            [4]Measure // physical, school, emotional, footwear
	PlayStatus                   string
	Adherence                    Measure
}

// Options of Generate; the zero value is the published demonstration registry.
type Options struct {
	Seed     uint64 // 0 is Seed
	Children int    // 0 is 1200
}

// Generate invents a registry.
func Generate(opts Options) *Registry {
	if opts.Seed == 0 {
		opts.Seed = Seed
	}
	if opts.Children == 0 {
		opts.Children = 1200
	}
	if opts.Children < 0 || opts.Children > 9999 {
		panic("demo: children must be 1 to 9999")
	}
	reg := &Registry{}
	for i := range opts.Children {
		r := newStream(opts.Seed, i)
		c := drawChild(r, i)
		blocks := drawBlocks(r, c)
		spells := drawSpells(r, c, blocks)
		reg.addExposures(r, c, blocks, spells)
		reg.addEpisodes(r, c, spells)
		reg.addParticipant(r, c)
	}
	reg.countSeasons()
	return reg
}

// countSeasons notes in how many seasons each child has hours.
func (reg *Registry) countSeasons() {
	type season struct {
		child int
		name  string
	}
	seen := map[season]bool{}
	for _, e := range reg.Exposures {
		if k := (season{e.Child, e.Season}); !seen[k] {
			seen[k] = true
			reg.Participants[e.Child].SeasonsN++
		}
	}
}

// FPITotal is the foot posture total of one foot, missing where an item is.
func (p *Participant) FPITotal(side int) Measure {
	if total, ok := p.total(side); ok {
		return known(float64(total))
	}
	return none("NM")
}
