package stats

import "errors"

// Why a quantity cannot be estimated. Functions wrap these with the details;
// test with errors.Is.
var (
	ErrNoData         = errors.New("no observations")
	ErrNoEvents       = errors.New("no events")
	ErrNoPersonTime   = errors.New("no person-time")
	ErrNoVariance     = errors.New("no variation")
	ErrSeparation     = errors.New("separation: a coefficient has no finite estimate")
	ErrCollinear      = errors.New("collinear columns: coefficients are not identified")
	ErrNotConverged   = errors.New("iterations did not converge")
	ErrZeroCell       = errors.New("a cell of the table is zero")
	ErrTooFewClusters = errors.New("too few clusters for robust errors")
	ErrTooFewRows     = errors.New("too few rows")
	ErrUnequalRatings = errors.New("subjects differ in their number of ratings")
	ErrUninformative  = errors.New("sensitivity and specificity add up to 1 or less")
	ErrNotPositive    = errors.New("a weight is not above zero")
	ErrNegative       = errors.New("negative count")
	ErrBeyondData     = errors.New("the longest times are unfinished and shorter than the horizon")
	ErrBoundary       = errors.New("a risk of the model reaches 1")
	ErrTooLarge       = errors.New("too large for exact enumeration")
)
