package identifier

// What a run is, for evidence that a single cell does not give. Shares are of
// the column's cells that hold something.
const (
	// RunChance is the probability below which numbers drawn at random would
	// meet a check digit as often as those of the column.
	RunChance = 1e-6

	runNumbers = 5   // different numbers of a scheme, at least
	runValid   = 0.9 // of the numbers shaped like it, that many meet the check

	runNames      = 20  // different texts shaped as names, without a given name
	runGiven      = 3   // different texts with a given name of the list
	runNameShare  = 0.8 // of the cells are shaped as names
	runGivenShare = 0.5 // the same where given names are among them
	runNamesApart = 0.5 // of the cells shaped as names, so many are different

	runPhones     = 5   // different national phone numbers that are all of a cell
	runPhoneShare = 0.8 // of the cells are such numbers

	runStreets     = 3   // different texts that could be streets with house numbers
	runStreetShare = 0.5 // of the cells are such texts

	runPostcodes     = 5   // different postcodes
	runPostcodeShare = 0.8 // of the cells are postcodes

	runNetwork = 2 // cells that are network addresses

	runDates     = 3   // texts that are full dates
	runDateShare = 0.8 // of the cells are such

	longWords     = 5   // words that make a text long
	longLetters   = 40  // letters and blanks that do
	runLong       = 3   // different long texts
	runLongShare  = 0.1 // of the cells hold long texts
	runLongApart  = 0.3 // of the long texts, so many are different
	uniqueRows    = 20  // rows, at least, of which near-unique can be said
	uniqueShare   = 0.9 // different values among them, more than
	uniqueDigits  = 7   // digits of a whole number that is no measurement
	mostRows      = 1000
	mostDifferent = 2000
)
