package verdict

func (ix *index) explain(_ []bound) []Explanation { return []Explanation{} }
