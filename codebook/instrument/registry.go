package instrument

// An Instrument is one of those that this package scores.
type Instrument struct {
	Name    string
	Sources []Source
	Rights  string // who owns what, and what a study needs
}

// A Source is a publication.
type Source struct{ Key, Text string }

// formula is the right to use what is only a formula or a class boundary.
const formula = "A published formula; nothing of the publication is reproduced."

// The sources of more than one instrument.
var (
	redmond  = Source{"Redmond 2006", "Redmond AC, Crosbie J, Ouvrier RA. Development and validation of a novel rating system for scoring standing foot posture: the Foot Posture Index. Clin Biomech 2006;21:89–98."}
	cavanagh = Source{"Cavanagh 1987", "Cavanagh PR, Rodgers MM. The arch index: a useful measure from footprints. J Biomech 1987;20:547–551."}
	brody    = Source{"Brody 1982", "Brody DM. Techniques in the evaluation and treatment of the injured runner. Orthop Clin North Am 1982;13:541–558."}
)

// postureForm is the right to the form of the foot posture index.
const postureForm = "The form of the foot posture index is copyright of A. Redmond and needs permission to be copied; the data hold the scores of its items alone."

var instruments = []Instrument{
	{
		"foot-posture-total",
		[]Source{redmond},
		postureForm,
	},
	{
		"foot-posture-class",
		[]Source{redmond},
		postureForm,
	},
	{"foot-of-child", nil, "None is needed."},
	{
		"arch-index",
		[]Source{cavanagh},
		formula,
	},
	{
		"arch-class",
		[]Source{cavanagh},
		formula,
	},
	{
		"navicular-drop",
		[]Source{brody},
		formula,
	},
	{
		"navicular-drop-above",
		[]Source{brody},
		formula,
	},
	{"rearfoot-angle", nil, "None is needed."},
	{
		"pain-score",
		[]Source{{"Hicks 2001", "Hicks CL, von Baeyer CL, Spafford PA, van Korlaar I, Goodenough B. The Faces Pain Scale – Revised: toward a common metric in pediatric pain measurement. Pain 2001;93:173–183."}},
		"Visual analogue and numerical rating scales are free. The drawings of the revised faces pain scale belong to the International Association for the Study of Pain; the data hold scores alone.",
	},
	{
		"oxford-foot-score",
		[]Source{
			{"Morris 2008", "Morris C, Doll HA, Wainwright A, Theologis T, Fitzpatrick R. The Oxford ankle foot questionnaire for children: scaling, reliability and validity. J Bone Joint Surg Br 2008;90:1451–1456."},
			{"Morris 2009", "Morris C, Doll H, Davies N, et al. The Oxford Ankle Foot Questionnaire for children: responsiveness and longitudinal validity. Qual Life Res 2009;18:1367–1376."},
		},
		"The questionnaire is protected and needs a licence of its owner; the data hold item numbers and scores, never its wording.",
	},
	{
		"maturity-offset",
		[]Source{
			{"Mirwald 2002", "Mirwald RL, Baxter-Jones ADG, Bailey DA, Beunen GP. An assessment of maturity from anthropometric measurements. Med Sci Sports Exerc 2002;34:689–694."},
			{"Moore 2015", "Moore SA, McKay HA, Macdonald H, Nettlefold L, Baxter-Jones ADG, Cameron N, Brasher PMA. Enhancing a somatic maturity prediction model. Med Sci Sports Exerc 2015;47:1755–1764."},
		},
		formula,
	},
	{
		"bmi-for-age",
		[]Source{
			{"Cole 1992", "Cole TJ, Green PJ. Smoothing reference centile curves: the LMS method and penalized likelihood. Stat Med 1992;11:1305–1319."},
			{"Kuczmarski 2002", "Kuczmarski RJ, Ogden CL, Guo SS, et al. 2000 CDC growth charts for the United States: methods and development. Vital Health Stat 11(246), 2002."},
			{"Wei 2020", "Wei R, Ogden CL, Parsons VL, Freedman DS, Hales CM. A method for calculating BMI z-scores and percentiles above the 95th percentile of the CDC growth charts. Ann Hum Biol 2020;47:514–521."},
			{"de Onis 2007", "de Onis M, Onyango AW, Borghi E, Siyam A, Nishida C, Siekmann J. Development of a WHO growth reference for school-aged children and adolescents. Bull World Health Organ 2007;85:660–667."},
		},
		"The tables of 2000 are a work of the United States government and in the public domain.",
	},
}

// List lists the instruments. The caller must not change it.
func List() []Instrument { return instruments }

// Find finds an instrument by its name. It panics for an unknown one.
func Find(name string) Instrument {
	for _, i := range instruments {
		if i.Name == name {
			return i
		}
	}
	panic("instrument: no instrument " + name)
}
