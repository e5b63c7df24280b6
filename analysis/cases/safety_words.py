"""Words that touch safety, by language and category: a stop too many costs little.

Words stand apart by spaces, what has several words after a semicolon. Capitals and accents do not
matter. An asterisk stands for any letters; without one a word must stand alone. Left out is what
ordinary talk of beer and its taste uses (a glass, a cap, sour, burnt, metallic, strange), and what
is harmless in another of these languages: notes are held against all of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

_ENGLISH = {
    "gushing": (
        "gush* overfoam* erupt* fountain* geyser*; shot out; sprayed; over the table; on the "
        "table; all over"
    ),
    "burst": "burst* explo* shatter* bang bulging bloated swollen; blew up; blown up",
    "foreign body": (
        "splinter* shard* insect* fly flies wasp* spider* beetle* worm* maggot* larva* slug* "
        "mouse rodent* hair needle* screw wire metal plastic stones mould mold mouldy moldy "
        "swallowed choke* choking; foreign bod*; foreign object*; foreign matter; broken "
        "glass; piece of; pieces of; bit of glass; bits of glass; glass in; glass inside; "
        "something in it; something inside; something hard"
    ),
    "chemical": (
        "chemical* bleach* detergent* solvent* caustic lye cleaning soap* paint* petrol "
        "diesel disinfect* chlorin* poison* toxic"
    ),
    "allergen": "allerg* anaphyla* hives rash itch* epipen coeliac celiac lactose",
    "illness": (
        "ill illness sick sickness vomit* nausea* nauseous queasy diarrh* stomach* cramp* "
        "fever* unwell hospital* doctor* physician ambulance faint* dizzy unconscious; threw "
        "up; throwing up"
    ),
    "injury": (
        "injur* hurt cut cuts bleed* bled blood* wound* stitches plaster burned burns burning "
        "scald* bruise* tooth teeth lip lips gum gums eye eyes"
    ),
}
_GERMAN = {
    "gushing": (
        "gushing* uebergeschaeum* überschäum* übergeschäum* ueberschaeum* herausgeschoss* "
        "fontäne* fontaene* spritzt*; schoss heraus; schießt heraus; schäumt über"
    ),
    "burst": (
        "geplatzt* platzt* zerplatzt* explod* explos* geborsten zerborst* zersprung* zerbrach "
        "gewölbt* gewoelbt* aufgebläht* aufgeblaeht* knall*"
    ),
    "foreign body": (
        "fremdkörper* fremdkoerper* *splitter *scherbe* insekt* fliege* wespe* spinne* käfer "
        "kaefer maden wurm würmer larve* maus schnecke* haar haare nadel nadeln schraube* "
        "draht metall metallstück* metallteil* plastik* holzstück* steinchen schimmel* "
        "verschluckt verschlucken; etwas drin; glas im; glas in; stück glas; teil im"
    ),
    "chemical": (
        "chemi* lauge* putzmittel* reinigungsmittel* reiniger* lösungsmittel* loesungsmittel* "
        "seife* spülmittel* spuelmittel* desinfekt* chlor* benzin* gift giftig* vergift* "
        "ätzend* aetzend* farbverdünn*"
    ),
    "allergen": (
        "allerg* anaphyla* ausschlag juckreiz juckt* nesselsucht zöliakie zoeliakie laktose*"
    ),
    "illness": (
        "krank* erkrankt* erbroch* erbrech* übergeben uebergeben übel uebel übelkeit "
        "uebelkeit brechreiz durchfall* bauchschmerz* bauchweh magenschmerz* magen fieber* "
        "arzt ärztin aerztin notarzt schwindel* schwindlig* ohnmacht* lebensmittelvergift* "
        "unwohl"
    ),
    "injury": (
        "verletz* geschnitten schnitt schnittwunde* blut* wunde* verbrenn* verbrüh* verbrueh* "
        "zahn zähne zaehne auge augen lippe genäht genaeht pflaster narbe* schmerz*; mund "
        "verbrannt; finger verbrannt"
    ),
}
_FRENCH = {
    "gushing": "jailli* gicle* geyser* débord*; mousse partout",
    "burst": "explos* éclaté* éclatement gonfl* bombé*",
    "foreign body": (
        "éclats débris insecte* mouche* guêpe* araignée* ver larve* asticot* souris limace* "
        "cheveu* poil* aiguille* vis métal plastique caillou* moisi* avalé* étouff*; corps "
        "étranger*; morceau de; morceaux de; bout de verre; verre dans; éclat de"
    ),
    "chemical": (
        "chimique* javel détergent* solvant* soude nettoyant* nettoyage savon* désinfect* "
        "chlore* poison* toxique* empoisonn* lessive; produit d'entretien"
    ),
    "allergen": "allerg* anaphyla* urticaire éruption démange* coeliaque lactose plaques",
    "illness": (
        "malade* maladie* vomi* nausée* diarrhée* estomac ventre crampe* fièvre* hôpital* "
        "médecin* docteur urgences ambulance vertige* évanoui* intoxi* malaise"
    ),
    "injury": (
        "bless* coupure* saign* sang plaie* brûlure* dent dents oeil yeux lèvre* suture* "
        "pansement* cicatrice* douleur*; coupé le; coupé la; coupée; s'est coupé"
    ),
}
_SPANISH = {
    "gushing": "chorro desbord* géiser surtidor; salió disparad*",
    "burst": "explot* explos* revent* estall* hinchad* abombad*",
    "foreign body": (
        "esquirla* astilla* insecto* mosca* avispa* araña* gusano* larva* ratón pelo pelos "
        "cabello* aguja* tornillo* alambre plástico piedra* moho mohos* tragué tragó "
        "atragant*; cuerpo extraño; cuerpos extraños; objeto extraño; trozo de; trozos de; "
        "pedazo de; vidrio en; cristal en; metal en"
    ),
    "chemical": (
        "químic* lejía detergente* disolvente* sosa limpiador* limpieza jabón* jabonos* "
        "desinfect* cloro* gasolina veneno* tóxic* envenen*"
    ),
    "allergen": (
        "alérg* anafil* urticaria erupción picor* picazón sarpullido celíac* lactosa ronchas"
    ),
    "illness": (
        "enferm* vómit* náusea* diarrea* estómago barriga calambre* fiebre* hospital* médico "
        "doctor* urgencias ambulancia mareo* maread* desmay* intoxic* malestar"
    ),
    "injury": (
        "herid* cortad* corte cortes sangr* quemadura* diente* ojo ojos labio* tirita lesion* "
        "lesión cicatriz* dolor*; me corté; se cortó; me quemé; se quemó"
    ),
}
_DUTCH = {
    "gushing": "overgeschuimd overschuim* spuit* spoot fontein*; schuimde over",
    "burst": "gebarsten barst* ontplof* explo* geknapt gesprongen bolstaand* knal*; bol blik*",
    "foreign body": (
        "*splinter *scherf *scherven insect* vlieg* wesp* spin spinnen worm* maden larve* "
        "muis slak haar haren naald* schroef* draad metaal plastic steentje* schimmel* "
        "ingeslikt doorgeslikt verslikt; vreemd voorwerp; vreemde voorwerpen; vreemd deel*; "
        "stuk glas; stukje glas; stukje*; glas in; iets in het"
    ),
    "chemical": (
        "chemi* bleekmiddel* bleekwater wasmiddel* schoonmaakmiddel* schoonmaak* oplosmiddel* "
        "loog zeep* ontsmet* chloor* benzine gif giftig* vergift*"
    ),
    "allergen": "allerg* anafyla* uitslag jeuk* netelroos galbulten coeliakie lactose*",
    "illness": (
        "ziek* overgegeven overgeven braken gebraakt misselijk* diarree* buikpijn* maagpijn* "
        "maag kramp* koorts* dokter* huisarts ambulance duizelig* flauwgevallen onwel "
        "voedselvergift*"
    ),
    "injury": (
        "gewond* verwond* letsel* gesneden snee snijwond* bloed* wond wonden brandwond* tand "
        "tanden oog ogen lip gehecht hechting* pleister* litteken* pijn"
    ),
}
_ITALIAN = {
    "gushing": "zampill* fuoriuscit* spruzz* fontana; schizzata fuori",
    "burst": "esplo* scoppi* gonfi* rigonf* frantumat*",
    "foreign body": (
        "scheggi* frammento frammenti insett* mosca mosche vespa vespe ragno ragni verme "
        "vermi larva larve topo capell* pelo peli aghi metallo plastica sassolin* muffa muffe "
        "ammuffit* inghiott* ingoiat* soffoc*; corpo estraneo; corpi estranei; pezzo di; "
        "pezzi di; vetro dentro; vetro nel*"
    ),
    "chemical": (
        "chimic* candeggina detersiv* solvent* detergent* sapon* disinfett* cloro* benzina "
        "velen* tossic* avvelen* pulizia; soda caustica"
    ),
    "allergen": "allerg* anafila* orticaria eruzione prurito sfogo celiac* lattosio",
    "illness": (
        "malat* vomit* nausea* diarrea* stomaco pancia crampi* febbre* ospedale* medico "
        "dottor* ambulanza capogir* svenut* intossic* malessere; sto male; stato male; stata "
        "male; mal di"
    ),
    "injury": (
        "ferit* tagliat* taglio tagli sangu* ustion* bruciatur* dente denti occhio occhi "
        "labbr* cerotto lesion* cicatric* dolor*"
    ),
}

LANGUAGES: Mapping[str, str] = {
    "en": "English",
    "de": "German",
    "fr": "French",
    "es": "Spanish",
    "nl": "Dutch",
    "it": "Italian",
}

WORDS: Mapping[str, Mapping[str, str]] = {
    "en": _ENGLISH,
    "de": _GERMAN,
    "fr": _FRENCH,
    "es": _SPANISH,
    "nl": _DUTCH,
    "it": _ITALIAN,
}
"""By language and category, as the head of this file says."""
