package identifier

// ofPeople are words that say whose thing a column holds and not what it is.
var ofPeople = wordSet(`
	child childs children patient patients participant participants player athlete subject person pupil student member
	full complete mother mothers father fathers parent parents guardian carer contact emergency primary of the s a my
	kind kindes patienten patientin spieler mutter vater eltern des der die vollstandiger
	enfant patiente joueur mere pere parents du de la le l complet
	nino paciente madre padre completo paziente bambino kin coach trainer rater examiner doctor physician gp clinician
	private home work no nr
`)

// The words were written from memory: English, German, French, Spanish,
// Italian, Dutch and the Nordic languages.
var titles = map[string]*titleWords{
	PersonName: {
		anywhere: phrases(`
			first name|last name|given name|family name|middle name|maiden name|full name|surname|forename|christian name
			nick name|initials|vorname|nachname|familienname|zuname|geburtsname|rufname|initialen
			prenom|nom de famille|nom et prenom|nom prenom|nom de naissance|apellido|apellidos|primer apellido|nombre y apellidos
			cognome|voornaam|achternaam|fornamn|efternamn|fornavn|etternavn|efternavn|etunimi|sukunimi|imie|nazwisko
			child name|patient name|participant name|player name|athlete name|mother name|father name|parent name|guardian name
			patientenname|kindsname|name des kindes|nom du patient|nom de l enfant|nombre del paciente|name of child
			name of patient|name of the child|name of the patient|examiner name|rater name|doctor name|physician name`),
		alone: phrases(`name|names|nom|noms|nombre|nome|naam|namn|navn|nimi`),
		not: []string{
			"club", "site", "sport", "drug", "school", "team", "file", "variable", "device", "clinic", "product", "form",
		},
	},
	Email: {anywhere: phrases(`e mail|email|mail address|mailadresse|courriel|correo electronico|sahkoposti|epost|e post`), alone: phrases(`mail`)},
	Phone: {
		anywhere: phrases(`
			phone|telephone|phone number|telephone number|mobile number|cell phone|mobile phone|fax|fax number|fax no
			telefon|telefonnummer|telefonnr|handynummer|mobilnummer|rufnummer|faxnummer|telephone portable|numero de telephone
			telefono|telefone|telefoon|telefoonnummer|puhelin|puhelinnumero|cellulare|natel|gsm nummer`),
		alone: phrases(`tel|mobile|handy|mobil|portable|movil|cell|gsm|whatsapp`),
	},
	WebAddress:     {alone: phrases(`url|website|web site|web address|homepage|webseite|site web|link|hyperlink`)},
	NetworkAddress: {anywhere: phrases(`ip address|ip adresse|mac address|mac adresse|adresse ip`), alone: phrases(`ip`)},
	RecordNumber: {
		anywhere: phrases(`
			mrn|medical record number|medical record no|hospital number|hospital no|nhs number|nhs no|nhs nr|nhsno|chi number
			health card number|medicare number|medicaid number|member id number|insurance number|insurance no|policy number
			national insurance number|social security number|social security no|ssn|social insurance number
			versichertennummer|versicherungsnummer|versichertennr|versicherungsnr|krankenversichertennummer|kvnr|krankenkassennummer
			ahv|ahvn|ahv nummer|ahv nr|avs|numero avs|sozialversicherungsnummer|svnr|sv nummer|patientennummer|patientennr|fallnummer
			nir|numero de securite sociale|securite sociale|numero secu|numero patient|carte vitale|ipp
			personnummer|personnr|personal number|cpr|cpr nummer|cpr nr|henkilotunnus|hetu|fodselsnummer|fodselsnr
			codice fiscale|codice sanitario|tessera sanitaria|bsn|burgerservicenummer|dni|pesel|cpf|curp|numero de historia clinica
			passport|passport number|passnummer|ausweisnummer|driver licence|driver license|driving licence|licence plate
			license plate|number plate|registration plate|kennzeichen|identity card number|id card number|national id
			device serial number|patient number|patient no|patient nr|file number|chart number`),
		alone: phrases(`record number|record no|case number|account number|nie`),
	},
	BankAccount: {anywhere: phrases(`iban|bank account|account iban|kontonummer|compte bancaire|credit card|card number|kreditkarte`)},
	PostalAddress: {
		anywhere: phrases(`
			home address|postal address|street address|street name|address line|mailing address|residential address|anschrift
			wohnadresse|postadresse|strasse|hausnummer|adresse postale|rue et numero|direccion|indirizzo|osoite|katuosoite
			postcode|post code|zip code|zipcode|postal code|postleitzahl|code postal|codigo postal|postnummer|postinumero`),
		alone: phrases(`address|adresse|adres|adress|street|rue|calle|plz|zip|zip 4|npa|house number`),
		not:   []string{"mail", "email", "ip", "mac", "web", "e", "network", "url"},
	},
	BirthDate: {
		anywhere: phrases(`
			date of birth|birth date|birthdate|birth day|birthday|dob|geburtsdatum|geburtstag|geb datum|geb dat|gebdat
			date de naissance|date naissance|ddn|fecha de nacimiento|fecha nacimiento|data di nascita|data nascita
			geboortedatum|fodselsdato|fodelsedatum|fodselsdag|syntymaaika|data urodzenia|data de nascimento|born on`),
		alone: phrases(`born|geboren|naissance|nacimiento|nascita`),
	},
	Photograph: {
		anywhere: phrases(`photograph|photo|photo file|image file|picture file|bilddatei|fichier image`),
		alone:    phrases(`picture|image|foto|bild|video|film`),
	},
	Residence: {
		anywhere: phrases(`place of residence|town of residence|wohnort|wohngemeinde|lieu de residence|home town|hometown`),
		alone:    phrases(`city|town|village|municipality|ort|stadt|gemeinde|ville|commune|ciudad|citta|comune|kommune|suburb|county`),
	},
}
