// Package demo invents the Saltmarsh Youth Sport Heel Registry: a registry of
// heel apophysitis whose true rates, ratios and curves are known, so that every
// estimate made from it can be checked. No child in it exists.
//
// # Promise
//
// The registry depends on the seed and the number of children alone: child i
// draws from its own stream, PCG(mix(seed), mix(i)), so the first children of
// a larger registry are those of a smaller one. There is no clock.
//
// # Time
//
// Time is the study day of the child, 0 at enrolment. Age at day t is
// age_enrolled + t/365.25. A season has 40 weeks and starts every 364 days.
// Hours of sport are recorded in blocks of at most five weeks.
//
// # True model
//
// Foot posture. The totals of the right and the left foot are bivariate
// normal with mean 4.0 - 0.2(age - 6), standard deviation 3 and correlation
// 0.8, rounded to -12..12. The arch type comes from the larger total:
// below 0 supinated, 0 to 5 normal, 6 and above pronated.
//
// First episode. While child c plays sport s in the age band a (current age),
// the hazard per 1,000 hours is
//
//	base * sport[s] * age[a] * arch[c]
//
// and is constant within band and sport. The cumulative hazard over all the
// child's sports reaches an exponential variable at the onset; the sport at
// onset is drawn in proportion to the sports' contributions at that moment.
// Nothing else acts on the onset: sex and age act through sport and band.
//
// Prevalent episodes. A share of the children had an onset on a day uniform
// over the year before enrolment. A heel that recovered before day 0 is not
// known to the registry; a heel that had not is a row with a negative onset
// (delayed entry at -onset days). Such a child is not at risk of a first
// episode.
//
// Return. The time T from onset to match return of a heel is Weibull with
// proportional hazards by arch type,
//
//	P(T > t) = exp(-hr[arch] * (t/scale)^shape),
//
// and depends on nothing else, so the hazard ratio by arch type is exact.
// Both heels of a spell share a Gaussian copula. Days are T rounded up, so
// P(day > t) is the formula above at every whole day t.
//
// Other ends. Giving up the sport and another injury come at constant hazards,
// drawn once for both heels; leaving the registry is drawn at enrolment. All
// are independent of T and of the arch type.
//
// Missing values are completely at random; the sites' legacy code 999 stands
// for not measured.
//
// # Truth
//
// Population quantities without a closed form (rates over heterogeneous
// children who leave the risk set at their first event, the risk of any
// episode by arch type) come from a super-population of 400,000 children.
// Given its exposure a child contributes expected events and hours in closed
// form, so the Monte Carlo error is that of the exposures alone. The values
// are stored in files/truth.json; a test recomputes them.
package demo
