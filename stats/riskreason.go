package stats

// A Reason says why an onset is not counted, or why observed time is not time
// at risk. Where several apply the first in the order below is the one given.
type Reason int

// The reasons. Those of time are OutsideWindow to OutsideCalendar, without
// SameDay, NoObservation and OutsideObservation, which concern onsets alone.
const (
	Counted            Reason = iota // none: the onset is an event, the time is at risk
	OutsideWindow                    // outside the study window
	GroupMissing                     // of a row, or an onset, without a group
	HeelMissing                      // of an onset of no known heel, where each heel has its clock
	NoObservation                    // of an onset of a child without observed time
	PrevalentAtEntry                 // the episode was open on the clock's first day of observation
	EarlierEpisode                   // first episodes: an episode that was over by then
	AfterFirst                       // first episodes: after the first onset
	SameDay                          // of a further onset on the day of one that is judged
	WithinEpisode                    // within an open episode: of an onset, the same spell
	WithinGap                        // within the symptom-free gap after one: of an onset, the same spell
	OutsideObservation               // of an onset on a day on which its group is not observed
	OutsideAges                      // outside the age bands
	OutsideCalendar                  // outside the calendar bands
	reasons
)

var reasonWords = [reasons]string{
	"counted", "outside the study window", "group missing", "heel missing", "no observed time", "prevalent at entry",
	"an earlier episode", "after the first onset", "on the same day as another", "within an episode",
	"within the symptom-free gap", "outside observed time", "outside the age bands", "outside the calendar bands",
}

// String is the reason in words.
func (r Reason) String() string {
	if r < 0 || r >= reasons {
		return "unknown reason"
	}
	return reasonWords[r]
}

// Reasons lists them in order.
func Reasons() []Reason {
	list := make([]Reason, reasons)
	for i := range list {
		list[i] = Reason(i)
	}
	return list
}
