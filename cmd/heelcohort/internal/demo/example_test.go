package demo

import "fmt"

func ExampleGenerate() {
	reg := Generate(Options{Children: 200})
	fmt.Println(len(reg.Participants), reg.Participants[0].ID)
	// Output: 200 SM-0001
}

func ExampleStoredTruth() {
	truth, err := StoredTruth()
	if err != nil {
		fmt.Println(err)
		return
	}
	q, _ := truth.Find("hazard ratio of match return", "", "", "pronated", 0)
	fmt.Println(q.Value, q.Unit)
	// Output: 0.75 ratio
}
