//! Publishing, editions, and the catalogue as one text.

use engine::{Definition, PublishRequest, ReproduceRequest, text};

use crate::{
    Answer,
    args::{Editions, Export, Global, Publish},
    commands::{open, request, wait},
    failure::Failure,
    output::Output,
};

pub(crate) fn publish(global: &Global, it: &Publish, output: &mut Output) -> Result<(), Failure> {
    let definition = it.definition.as_deref().map(Definition::read).transpose()?;
    if it.show_definition {
        return output.text(&definition.unwrap_or_default().text()?);
    }
    let engine = open(global)?;
    let publication = match (it.edition, &it.band) {
        (Some(edition), _) => engine.reproduce(&ReproduceRequest {
            edition,
            to: it.to.clone(),
            formats: it.format.clone(),
            replace: it.replace,
        })?,
        (None, band) => {
            let request = PublishRequest {
                band: request(band.as_deref().unwrap_or_default(), &it.how)?,
                definition,
                to: it.to.clone(),
                formats: it.format.clone(),
                replace: it.replace,
                draft: it.draft,
            };
            let waiting = wait(global, "publishing");
            let made = engine.publish(&request, &mut |it| waiting.watch(&it))?;
            drop(waiting);
            made
        }
    };
    output.answer(&publication, text::published)
}

pub(crate) fn editions(
    global: &Global,
    it: &Editions,
    output: &mut Output,
) -> Result<Answer, Failure> {
    let engine = open(global)?;
    let Some(number) = it.check else {
        output.answer(&engine.editions()?, text::editions)?;
        return Ok(Answer::Done);
    };
    let waiting = wait(global, "computing anew");
    let check = engine.check_edition(number)?;
    drop(waiting);
    output.answer(&check, text::edition_check)?;
    Ok(if check.is_whole && check.is_same { Answer::Done } else { Answer::Negative })
}

pub(crate) fn export(global: &Global, it: &Export, output: &mut Output) -> Result<(), Failure> {
    let engine = open(global)?;
    let products = engine.export(&it.file)?;
    let made = serde_json::json!({ "file": it.file.display().to_string(), "products": products });
    output.answer(&made, |_, width| text::exported(&it.file, products, width))
}
