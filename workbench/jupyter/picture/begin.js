// Brings in the picture's program. That is large, and on a busy machine takes longer than the two
// seconds that a widget has to be ready in; one that is late hears nothing more from the kernel.
// Once it is there, the program asks the kernel for all that there is to show.

const program = async (text) => {
  const url = URL.createObjectURL(new Blob([text], { type: "text/javascript" }));
  try {
    const made = (await import(url)).default;
    return typeof made === "function" ? made() : made;
  } finally {
    URL.revokeObjectURL(url);
  }
};

export default () => {
  let ready = null;
  return {
    initialize({ model }) {
      ready = program(model.get("program")).then((picture) => {
        const close = picture.initialize?.({ model });
        return { picture, close };
      });
      return () => ready.then(({ close }) => close?.());
    },
    async render({ model, el }) {
      const { picture } = await ready;
      return picture.render({ model, el });
    },
  };
};
