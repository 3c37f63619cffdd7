package stats

import "fmt"

// Episode yes or no of children with pronated and other feet, in two sports.
var twoSports = []TableStratum{{18, 22, 21, 69}, {7, 13, 10, 30}}

func printEstimate(e Estimate, err error) {
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("%.2f (%.2f to %.2f)\n", e.Value, e.Lower, e.Upper)
}

func printTest(t Test, err error) {
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("p = %.3f\n", t.P)
}

func ExampleMantelHaenszelRiskRatio() {
	printEstimate(MantelHaenszelRiskRatio(twoSports, LimitOptions{}))
	// Output: 1.75 (1.14 to 2.68)
}

func ExampleMantelHaenszelRiskDifference() {
	printEstimate(MantelHaenszelRiskDifference(twoSports, PooledDifferenceOptions{}))
	// Output: 0.18 (0.03 to 0.32)
}

func ExampleCochranMantelHaenszel() {
	printTest(CochranMantelHaenszel(twoSports, CMHOptions{}))
	// Output: p = 0.012
}

func ExampleConditionalIndependenceExact() {
	printTest(ConditionalIndependenceExact(twoSports))
	// Output: p = 0.017
}

func ExampleOddsRatioHomogeneity() {
	printTest(OddsRatioHomogeneity(twoSports, HomogeneityOptions{}))
	// Output: p = 0.478
}

func ExampleHomogeneityExact() {
	// The odds ratios are as small and as large as can be.
	printTest(HomogeneityExact([]TableStratum{{0, 2, 2, 0}, {2, 0, 0, 2}}))
	// Output: p = 0.111
}

func ExampleOddsRatioMidP() {
	printEstimate(OddsRatioMidP(18, 22, 21, 69, LimitOptions{}))
	// Output: 2.67 (1.20 to 5.96)
}

func ExampleStandardisedResiduals() {
	residuals, err := StandardisedResiduals([][]int{{12, 40}, {30, 95}, {15, 20}})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, row := range residuals {
		fmt.Printf("%.2f\n", row)
	}
	// Output:
	// [-0.71 0.71]
	// [-1.14 1.14]
	// [2.33 -2.33]
}

func ExampleGeneralCochranMantelHaenszel() {
	printTest(GeneralCochranMantelHaenszel([][][]int{
		{{20, 8, 2}, {15, 12, 6}, {9, 14, 11}},
		{{10, 5, 1}, {4, 6, 2}, {3, 7, 6}},
	}))
	// Output: p = 0.000
}

func ExampleProportionTrendExact() {
	printTest(ProportionTrendExact([]int{0, 1, 3}, []int{4, 4, 5}, []float64{0, 1, 2}))
	// Output: p = 0.087
}

// Pain in the heels of 40 children: both 12, left alone 8, right alone 2.
var heels = PairTable{Both: 12, First: 8, Second: 2, Neither: 18}

func ExamplePairedDifference() {
	printEstimate(PairedDifference(heels, PairedDifferenceOptions{}))
	// Output: 0.15 (-0.01 to 0.31)
}

func ExamplePairedRatio() {
	printEstimate(PairedRatio(heels, LimitOptions{}))
	// Output: 1.43 (0.99 to 2.19)
}

func ExamplePairedOddsRatio() {
	printEstimate(PairedOddsRatio(heels, ExactOptions{}))
	// Output: 4.00 (0.80 to 38.67)
}
