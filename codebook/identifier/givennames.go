package identifier

import "strings"

// givenNames are common given names of several languages, written from memory
// in small letters without accents. Names that are words of the trade or of
// calendars (May, June, Summer, Grace, Will, Mark, Heel) are left out.
var givenNames = wordSet(`
	oliver george harry noah jack leo arthur oscar archie theo charlie freddie henry alfie thomas james william lucas
	olivia amelia isla ava mia ivy lily isabella sophia emily ella freya florence charlotte evie poppy sophie alice
	liam elijah benjamin ethan alexander jacob michael daniel jackson sebastian aiden matthew samuel david
	joseph owen wyatt john jayden luke dylan levi isaac gabriel julian anthony joshua christopher andrew ryan
	nathan caleb emma evelyn abigail elizabeth sofia scarlett madison eleanor hannah
	lillian addison aubrey ellie stella natalie zoe leah hazel violet aurora savannah audrey brooklyn bella claire sarah
	robert richard charles steven kevin brian edward ronald timothy jason jeffrey mary patricia jennifer linda susan
	jessica karen margaret lisa betty dorothy sandra ashley kimberly donna michelle carol amanda melissa deborah
	ben paul jonas elias finn felix leon luis maximilian moritz anton emil jakob niklas tim lukas philipp johannes
	jannik fabian florian simon tobias stefan andreas matthias markus peter hans klaus jurgen wolfgang uwe dieter
	mila clara frieda ida lena marie lina lea johanna greta nele luisa paula laura anna katharina julia sabine petra
	monika ursula heike birgit renate jorg gunter heinrich friedrich karl otto emilia mathilda romy
	gabriel raphael louis jules adam hugo arthur ethan maxime mathis nolan enzo clement antoine nicolas pierre jean
	francois michel philippe alain bernard jacques camille chloe manon ines jade lena romane juliette louise ambre
	nathalie isabelle sylvie catherine francoise monique veronique
	hugo mateo martin lucas alejandro pablo alvaro adrian diego mario javier carlos miguel jose juan antonio manuel
	francisco luis lucia sofia martina maria valeria daniela carla noa carmen ana isabel pilar dolores
	leonardo francesco lorenzo alessandro andrea mattia tommaso riccardo edoardo giuseppe giovanni luca marco matteo
	giulia aurora ginevra beatrice giorgia chiara francesca elena paola
	daan sem bram lars milan thijs jesse sander pieter jan willem tess saar sanne femke lotte anouk
	erik karin astrid ingrid bjorn sven lars nils olof gustav axel ludvig elsa maja alva ebba saga wilma ola kari
	anne hanne mette soren mikkel rasmus frederik freja karen inge aino eino eevi onni ilona mikko juha matti
	jakub jan kacper zuzanna hania zofia katarzyna agnieszka piotr krzysztof tomasz
	mohammed muhammad ahmed ali omar yusuf ibrahim hassan fatima aisha zainab mehmet mustafa ayse zeynep elif emre
	ivan dmitri sergei olga natasha svetlana yuki hiroshi wei priya rahul ananya arjun aarav
`)

func wordSet(list string) map[string]bool {
	set := map[string]bool{}
	for _, w := range strings.Fields(list) {
		set[w] = true
	}
	return set
}

// phrases splits a list at bars and line ends.
func phrases(list string) []string {
	var out []string
	for _, p := range strings.FieldsFunc(list, func(r rune) bool { return r == '|' || r == '\n' }) {
		if p = strings.TrimSpace(p); p != "" {
			out = append(out, p)
		}
	}
	return out
}
