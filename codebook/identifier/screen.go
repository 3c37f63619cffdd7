package identifier

// A Screen is one thing that cells are screened for.
type Screen struct {
	Name     string // name of the finding's rule: "e-mail address"
	One      string // what a cell holds: "an e-mail address"
	Many     string // what a column's cells hold: "e-mail addresses"
	Sentence string // what it found, for people
	Ask      string // what is asked of them
	Direct   bool   // it names a person by itself; a run stops
}

// Names of the screens.
const (
	PersonName     = "person name"
	Email          = "e-mail address"
	Phone          = "phone number"
	WebAddress     = "web address"
	NetworkAddress = "network address"
	RecordNumber   = "record number"
	BankAccount    = "bank account"
	PostalAddress  = "postal address"
	BirthDate      = "date of birth"
	Photograph     = "photograph"
	CalendarDate   = "calendar date"
	Residence      = "place of residence"
	FreeText       = "free text"
	NearUnique     = "near-unique"
)

// screens lists the screens: those that name a person by themselves first.
var screens = []Screen{
	{
		PersonName, "the name of a person", "names of people",
		"The cells hold names of people, or initials.",
		"Remove the column, and keep a study code that only the registry can trace back.", true,
	},
	{
		Email, "an e-mail address", "e-mail addresses",
		"A cell holds an e-mail address.",
		"Remove the address from the data.", true,
	},
	{
		Phone, "a phone number", "phone numbers",
		"A cell holds a phone or fax number.",
		"Remove the number from the data.", true,
	},
	{
		WebAddress, "a web address", "web addresses",
		"A cell holds a web address or a link.",
		"Remove the link; what it leads to may name the child.", true,
	},
	{
		NetworkAddress, "a network address", "network addresses",
		"A cell holds the network address of a device.",
		"Remove the address from the data.", true,
	},
	{
		RecordNumber, "a number given to a person", "numbers given to people",
		"The cells hold numbers that a clinic, an insurance or an authority gave to a person.",
		"Replace each number by a study code whose list stays with the registry.", true,
	},
	{
		BankAccount, "the number of an account or a card", "numbers of accounts or cards",
		"A cell holds the number of a bank account or card.",
		"Remove the number from the data.", true,
	},
	{
		PostalAddress, "a postal address", "postal addresses",
		"The cells hold streets with house numbers, or postcodes.",
		"Remove the address; keep a region of many people where the analysis needs one.", true,
	},
	{
		BirthDate, "a date of birth", "dates of birth",
		"The cells hold dates of birth.",
		"Keep the age at enrolment instead, in years with one decimal at most.", true,
	},
	{
		Photograph, "the name of a picture's file", "names of pictures' files",
		"A cell names the file of a picture or a film.",
		"Remove the name of the file; pictures stay with the clinic.", true,
	},
	{
		CalendarDate, "a calendar date", "calendar dates",
		"The cells hold full calendar dates.",
		"Count study days instead, with 0 for the child's own enrolment.", false,
	},
	{
		Residence, "a place of residence", "places of residence",
		"The column names the town or district where people live.",
		"Keep a region of many people, or a site code.", false,
	},
	{
		FreeText, "a free text", "free texts",
		"The cells hold sentences, in which anything may have been written.",
		"Read the texts, and keep categories of what the analysis needs.", false,
	},
	{
		NearUnique, "a value of its own", "values of their own",
		"Hardly any two rows share a value, and the codebook declares no key here.",
		"Declare the key, or keep coarser values; a value that one child alone has singles it out.", false,
	},
}

// Screens lists all screens, the direct ones first. The caller must not change
// them.
func Screens() []Screen { return screens }

// Names lists the names of all screens.
func Names() []string {
	names := make([]string, len(screens))
	for i, s := range screens {
		names[i] = s.Name
	}
	return names
}

// Find finds a screen by its name.
func Find(name string) (Screen, bool) {
	for _, s := range screens {
		if s.Name == name {
			return s, true
		}
	}
	return Screen{}, false
}
